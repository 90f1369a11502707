#include "src/speed/speed_of_take.h"

#include <doctest/doctest.h>

#include "src/errors.h"
#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

using namespace howl;
using namespace howl::test;

namespace {

Take take_of(SpeedSource speed, double seconds) {
  Take take;
  take.sample_rate = 8000.0;
  take.frames = static_cast<std::int64_t>(seconds * 8000.0);
  take.channels = 2;
  take.recording = "recording.wav";
  take.speed = std::move(speed);
  return take;
}

}  // namespace

TEST_CASE("an entered speed is good to 0.5 %, but not better than 8 rpm") {
  const TakeSpeed fast = speed_of_take({}, take_of(EnteredSpeed{3000.0_rpm}, 10.0), std::nullopt);
  CHECK(fast.source == "entered");
  CHECK(fast.curve.at(5.0_s) == 3000.0_rpm);
  CHECK(fast.curve.relative_error() == 0.005);
  const TakeSpeed idle = speed_of_take({}, take_of(EnteredSpeed{800.0_rpm}, 10.0), std::nullopt);
  CHECK(idle.curve.relative_error() == doctest::Approx(0.01));
}

TEST_CASE("with the engine off there is no speed to repair or to refuse") {
  const TakeSpeed still = speed_of_take({}, take_of(EngineOff{}, 10.0), std::nullopt);
  CHECK(still.source == "engine off");
  CHECK(still.warnings.empty());
}

TEST_CASE("an entered ramp is linear between its points") {
  const EnteredRamp ramp{{{0.0_s, 800.0_rpm}, {10.0_s, 2800.0_rpm}}};
  const TakeSpeed speed = speed_of_take({}, take_of(ramp, 10.0), std::nullopt);
  CHECK(speed.source == "entered");
  CHECK(speed.curve.at(2.5_s).value == doctest::Approx(1300.0));
  CHECK(speed.curve.relative_error() == 0.01);
  CHECK(speed.warnings.empty());
}

TEST_CASE("a logged speed comes from the case folder, with road speed and warnings") {
  const ScratchFolder folder;
  write_text(folder / "log.csv", "time (s),rpm,km/h\n0,800,10\n5,1300,20\n9,1700,30\n");
  const TakeSpeed speed = speed_of_take(
      folder.path(), take_of(LoggedSpeed{.log = "log.csv", .sha256 = ""}, 10.0), std::nullopt);
  CHECK(speed.source == "logged");
  CHECK(speed.curve.at(2.5_s).value == doctest::Approx(1050.0));
  CHECK(speed.curve.relative_error() == 0.003);
  CHECK(speed.road.size() == 3);
  REQUIRE(speed.warnings.size() == 2);  // gaps, and one second at the end
  CHECK(speed.warnings[1].starts_with(
      "the speed is not known for 1.0 of 10.0 s (9.0 to 10.0 s), which are left out"));
  REQUIRE(speed.known.size() == 1);
  CHECK(speed.known.front().high == 9.0);
}

TEST_CASE("a tacho speed comes from the recording") {
  const ScratchFolder folder;
  auto samples = sines(4.0, 8000, 2);
  for (std::size_t i = 0; i < samples.size() / 2; ++i) samples[2 * i + 1] = i % 250 < 4 ? 0.5 : 0.0;
  write_sound(folder / "recording.wav", samples, {.rate = 8000, .channels = 2});
  // 32 pulses a second, two a revolution: 960 rpm.
  const TachoSpeed tacho{.channel = 2, .pulses_per_revolution = 2.0};
  const TakeSpeed speed = speed_of_take(folder.path(), take_of(tacho, 4.0), std::nullopt);
  CHECK(speed.source == "tacho");
  CHECK(speed.curve.at(2.0_s).value == doctest::Approx(960.0).epsilon(1e-6));
  CHECK(speed.curve.relative_error() == 0.0005);
  CHECK(speed.warnings.empty());

  // A pick-up that comes off after 3.5 of 4 s.
  for (std::size_t i = 28'000; i < samples.size() / 2; ++i) samples[2 * i + 1] = 0.0;
  write_sound(folder / "recording.wav", samples, {.rate = 8000, .channels = 2});
  const TakeSpeed lost = speed_of_take(folder.path(), take_of(tacho, 4.0), std::nullopt);
  REQUIRE(lost.warnings.size() == 1);
  CHECK(lost.warnings[0].find("(3.5 to 4.0 s)") != std::string::npos);

  const TachoSpeed wrong{.channel = 1, .pulses_per_revolution = 0.001};
  CHECK_THROWS_AS(speed_of_take(folder.path(), take_of(wrong, 4.0), std::nullopt), Error);
}
