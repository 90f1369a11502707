#include "src/files/sha256.h"

#include <doctest/doctest.h>

#include "tests/src/scratch_folder.h"

using namespace howl;
using namespace howl::test;

TEST_CASE("SHA-256 of the examples of FIPS 180-4 (NIST, Secure Hash Standard example values)") {
  const ScratchFolder folder;
  CHECK(sha256_of_file(write_text(folder / "abc", "abc")) ==
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_of_file(write_text(folder / "two blocks",
                                  "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")) ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(sha256_of_file(write_text(folder / "million", std::string(1'000'000, 'a'))) ==
        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}
