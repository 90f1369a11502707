#include "src/entry/names.h"

#include <doctest/doctest.h>

#include <array>
#include <string>

namespace howl {
namespace {

const std::array<std::string, 3> points{"transmission pan", "steering pump", "alternator"};

TEST_CASE("The nearest name survives typing errors, case and shortening") {
  CHECK(nearest_name("transmision pan", points) == "transmission pan");
  CHECK(nearest_name("Steering Pump", points) == "steering pump");
  CHECK(nearest_name("pump", points) == "steering pump");
  CHECK(nearest_name("altenrator", points) == "alternator");
}

TEST_CASE("What is near to nothing gets no suggestion") {
  CHECK(!nearest_name("wheel bearing", points));
  CHECK(!nearest_name("", points));
  CHECK(!nearest_name("xy", points));
  CHECK(did_you_mean("wheel bearing", points).empty());
}

TEST_CASE("Blanks that nobody sees make no other name") {
  CHECK(single_spaced(" bell  housing\t") == "bell housing");
  CHECK(single_spaced("pan") == "pan");
  CHECK(single_spaced("  ").empty());
}

TEST_CASE("Names are listed in quotes") {
  CHECK(quoted_list(points) == "'transmission pan', 'steering pump', 'alternator'");
}

}  // namespace
}  // namespace howl
