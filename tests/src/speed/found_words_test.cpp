#include "src/speed/found_words.h"

#include <doctest/doctest.h>

using namespace howl;

TEST_CASE("a speed that was found is told with its interval, and with what it may be instead") {
  FoundSpeed found{
      .rpm = 1793.4, .rpm_ci95 = {1791.5, 1795.3}, .range = {1780.0, 1810.0}, .rivals = {}};
  CHECK(found_words(found) == "found in the sound: 1793 rpm (95 %: 1791.5 to 1795.3)");
  found.rivals = {{3586.8, 0.06}};
  CHECK(found_words(found) ==
        "found in the sound: 1793 rpm (95 %: 1791.5 to 1795.3); it may be 3587 rpm instead (6 %)");
  found.range = {900.0, 3000.0};
  found.rivals.clear();
  CHECK(found_words(found) ==
        "found in the sound: 900 to 3000 rpm, 1793 on the average (95 %: 1791.5 to 1795.3)");
}
