#include "src/percent_text.h"

#include <doctest/doctest.h>

using namespace howl;

TEST_CASE("A percentage never claims certainty") {
  CHECK(percent_text(0.973) == "97 %");
  CHECK(percent_text(1.0) == ">99 %");
  CHECK(percent_text(0.0) == "<1 %");
}
