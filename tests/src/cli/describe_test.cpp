#include "src/cli/describe.h"

#include <doctest/doctest.h>

#include "src/cli/take_options.h"

using namespace howl;

TEST_CASE("two takes that differ in anything that was said of them are told apart") {
  Take was;
  was.point = "pan";
  was.speed = EnteredRamp{{{Seconds(0.0), Rpm(900.0)}, {Seconds(8.0), Rpm(3000.0)}}};
  CHECK(describe_change(was, was).empty());
  Take now = was;
  now.speed = EnteredRamp{{{Seconds(0.0), Rpm(900.0)}, {Seconds(9.0), Rpm(3000.0)}}};
  const std::string ramps = describe_change(was, now);
  CHECK(ramps.find("3000 rpm at 8 s") != std::string::npos);
  CHECK(ramps.find("3000 rpm at 9 s") != std::string::npos);
  CHECK(ramps.find("point") == std::string::npos);
}

// POSIX.1-2017, 2.2.2: all but a quote stands for itself between single quotes.
TEST_CASE("the line that adds a take again is one that a shell reads back") {
  TakeOptions take;
  take.point = "driver's seat";
  take.rpm = "1800";
  take.load = {"steering=left stop", "ac=on"};
  take.note = "$HOME";
  CHECK(add_line("my whine", "my whine/a.wav", take) ==
        "howlpoint add 'my whine' 'my whine/a.wav' --point 'driver'\\''s seat' --rpm 1800 --load "
        "'steering=left stop' --load ac=on --note '$HOME'");
}
