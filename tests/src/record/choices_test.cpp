// Small decisions of recording: which device, when to begin, what to say of the gain, whether the
// computer slept.

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "src/errors.h"
#include "src/record/gain_hint.h"
#include "src/record/signal_start.h"
#include "src/record/sleep_watch.h"
#include "src/record/sound_system.h"

using namespace howl;

namespace {

SoundDevice device(int number, const char* name, int inputs, int outputs, bool usual = false) {
  return {.number = number,
          .name = name,
          .system = "none",
          .inputs = inputs,
          .outputs = outputs,
          .usual_rate = 48'000.0,
          .usual_input = usual,
          .usual_output = usual};
}

const std::vector<SoundDevice> bench{device(0, "Line in", 2, 0), device(1, "USB probe", 2, 2),
                                     device(2, "USB probe B", 1, 0),
                                     device(3, "default", 2, 2, true), device(4, "Speakers", 0, 2)};

Fault fault_of(const std::vector<SoundDevice>& devices, const std::optional<std::string>& wanted) {
  try {
    choose_input(devices, wanted);
  } catch (const Error& error) {
    return error.fault();
  }
  FAIL("chosen");
  return Fault::file;
}

MeterReading reading(double peak_db, std::int64_t clipped = 0) {
  MeterReading meter;
  meter.highest = std::pow(10.0, peak_db / 20.0);
  meter.clipped = clipped;
  return meter;
}

}  // namespace

TEST_CASE("device: by number, by name, by a part that only one has, or the usual one") {
  CHECK(choose_input(bench, std::nullopt).number == 3);
  CHECK(choose_input(bench, "0").number == 0);
  CHECK(choose_input(bench, "USB probe").number == 1);  // the whole name goes before a part
  CHECK(choose_input(bench, "probe b").number == 2);
  CHECK(choose_output(bench, "speak").number == 4);
}

TEST_CASE("device: one that is not there, or could be several, is refused") {
  CHECK(fault_of(bench, "usb") == Fault::command);       // two fit
  CHECK(fault_of(bench, "speakers") == Fault::command);  // no input
  CHECK(fault_of(bench, "7") == Fault::command);
  CHECK(fault_of({device(0, "Speakers", 0, 2)}, std::nullopt) == Fault::machine);
}

TEST_CASE("start by signal: the first 20 ms that are loud enough, however they are cut") {
  // Level re full-scale sine of a constant 0.5 is 10 lg(2 * 0.25) = -3.01 dB.
  std::vector<float> sound(4800);
  std::fill(sound.begin() + 1920, sound.end(), 0.5F);  // from the third stretch of 960 on
  for (const std::size_t piece : {7U, 480U, 4800U}) {
    SignalStart start(48'000.0, Decibel(-3.1));
    std::optional<std::size_t> found;
    for (std::size_t at = 0; at < sound.size() && !found; at += piece) {
      const auto count = std::min(piece, sound.size() - at);
      if (const auto index = start.push(std::span(sound).subspan(at, count))) found = at + *index;
    }
    CHECK(found == 2879);  // the last sample of that stretch
  }
  SignalStart deaf(48'000.0, Decibel(-2.9));
  CHECK_FALSE(deaf.push(sound).has_value());
}

TEST_CASE("gain: which way to turn it, and by how much") {
  CHECK_FALSE(gain_hint(reading(-12.0)).has_value());
  CHECK_FALSE(gain_hint(reading(-6.1)).has_value());
  CHECK_FALSE(gain_hint(reading(-19.9)).has_value());
  CHECK(gain_hint(reading(-30.0)) == "faint; turn the gain up by about 18 dB");
  CHECK(gain_hint(reading(-2.0)) == "loud; turn the gain down by about 10 dB");
  CHECK(gain_hint(reading(-3.0, 5)) == "clipped; turn the gain down by 12 dB or more");
  CHECK(gain_hint(MeterReading{}) ==
        "hardly anything is heard; check microphone, cable and channel");
}

TEST_CASE("sleep: told from the clock that stands still meanwhile, not from the time of day") {
  SleepWatch watch({.awake = Seconds(100.0), .always = Seconds(500.0)});
  CHECK_FALSE(watch.look({.awake = Seconds(130.0), .always = Seconds(530.0)}).has_value());
  const auto slept = watch.look({.awake = Seconds(131.0), .always = Seconds(591.0)});
  REQUIRE(slept.has_value());
  CHECK(slept->value == doctest::Approx(60.0));
  CHECK_FALSE(watch.look({.awake = Seconds(132.0), .always = Seconds(592.0)}).has_value());
}
