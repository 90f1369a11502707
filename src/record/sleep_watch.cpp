#include "src/record/sleep_watch.h"

#include <ctime>

namespace howl {

namespace {

constexpr Seconds worth_a_word{0.5};

Seconds read(clockid_t clock) {
  timespec time{};
  clock_gettime(clock, &time);
  return Seconds(static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec));
}

}  // namespace

ClockReadings read_clocks() {
  return {.awake = read(CLOCK_MONOTONIC), .always = read(CLOCK_BOOTTIME)};
}

std::optional<Seconds> SleepWatch::look(ClockReadings now) {
  const Seconds slept = (now.always - before_.always) - (now.awake - before_.awake);
  before_ = now;
  return slept >= worth_a_word ? std::optional(slept) : std::nullopt;
}

}  // namespace howl
