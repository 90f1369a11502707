#include "src/files/base64.h"

#include <doctest/doctest.h>

namespace howl {
namespace {

TEST_CASE("Base64 gives the test vectors of RFC 4648, clause 10") {
  CHECK(base64_of("") == "");
  CHECK(base64_of("f") == "Zg==");
  CHECK(base64_of("fo") == "Zm8=");
  CHECK(base64_of("foo") == "Zm9v");
  CHECK(base64_of("foob") == "Zm9vYg==");
  CHECK(base64_of("fooba") == "Zm9vYmE=");
  CHECK(base64_of("foobar") == "Zm9vYmFy");
  CHECK(base64_of(std::string("\xFF\xFB\xBF", 3)) == "//u/");
}

}  // namespace
}  // namespace howl
