#include "src/speed/speed_of_take.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>

#include "dsp/speed_from_sound.h"
#include "dsp/statistics.h"
#include "dsp/tacho.h"
#include "src/audio/recording.h"
#include "src/case/speed_limits.h"
#include "src/errors.h"
#include "src/speed/coverage.h"

namespace howl {

namespace {

constexpr double entered_error = 0.005;
constexpr Rpm smallest_entered_error{8.0};
constexpr double ramp_error = 0.01;
constexpr double log_error = 0.003;
constexpr double tacho_error = 0.0005;
constexpr double near_error = 0.05;
constexpr double least_rival = 0.01;
constexpr std::size_t chunk = 65'536;

Seconds length_of(const Take& take) {
  return Seconds(static_cast<double>(take.frames) / take.sample_rate);
}

void require_plausible(Rpm speed, Fault fault, const std::string& where,
                       const std::string& remedy) {
  if (plausible(speed)) return;
  throw Error(fault, where, fmt::format("{:g} rpm cannot be an engine speed", speed.value), remedy);
}

const std::string& speed_range_remedy() {
  static const std::string text =
      fmt::format("give crankshaft speed in rpm, above 0 and up to {:.0f}", highest_speed.value);
  return text;
}

TakeSpeed entered_speed(const EnteredSpeed& source) {
  require_plausible(source.speed, Fault::command, "entered speed", speed_range_remedy());
  const double error = std::max(entered_error, smallest_entered_error / source.speed);
  return {.curve = SpeedCurve::constant(source.speed, error),
          .source = "entered",
          .warnings = {},
          .road = {}};
}

/// A curve has a speed at every moment; here it means nothing.
TakeSpeed engine_off() {
  return {.curve = SpeedCurve::constant(Rpm(1.0), 1.0),
          .source = std::string(engine_off_source),
          .warnings = {},
          .road = {}};
}

std::optional<std::string> ramp_misfit(std::span<const SpeedPoint> points, Seconds length) {
  constexpr Seconds tolerated{0.5};
  const Seconds last = points.back().time;
  if (last <= length + tolerated) return std::nullopt;
  return fmt::format("the ramp ends at {:.1f} s, but the recording at {:.1f} s", last.value,
                     length.value);
}

void require_ramp(std::span<const SpeedPoint> points, Seconds length) {
  const std::string where = "entered ramp";
  if (points.empty())
    throw Error(Fault::command, where, "has no points", "give at least 0:RPM and the end");
  for (std::size_t i = 0; i < points.size(); ++i) {
    require_plausible(points[i].speed, Fault::command, where, speed_range_remedy());
    const bool rises = i == 0 || points[i].time > points[i - 1].time;
    if (!std::isfinite(points[i].time.value) || !rises)
      throw Error(
          Fault::command, where,
          fmt::format("time {:g} s does not come after the one before", points[i].time.value),
          "give the points in order of time");
  }
  if (points.front().time >= length)
    throw Error(Fault::command, where,
                fmt::format("begins at {:.1f} s, after the end of the recording at {:.1f} s",
                            points.front().time.value, length.value),
                "count times from the start of the recording");
}

TakeSpeed ramp_speed(const EnteredRamp& source, Seconds length) {
  require_ramp(source.points, length);
  TakeSpeed speed{.curve = SpeedCurve::through(source.points, ramp_error),
                  .source = "entered",
                  .warnings = {},
                  .road = {}};
  if (const auto misfit = ramp_misfit(source.points, length)) speed.warnings.push_back(*misfit);
  return speed;
}

/// Says where the speed is not known.
void warn_of_unknown(TakeSpeed& speed, Seconds length, const std::string& remedy) {
  const TimeSpans unknown = without_speed(speed.known, length);
  if (unknown.empty()) return;
  speed.warnings.push_back(
      fmt::format("the speed is not known for {:.1f} of {:.1f} s ({}), which are left out; {}",
                  covered(unknown), length.value, places_of(unknown), remedy));
}

TakeSpeed logged_speed(const std::filesystem::path& file, Seconds length) {
  SpeedLog log = read_speed_log(file, length);
  TakeSpeed speed{.curve = SpeedCurve::through(log.points, log_error),
                  .source = "logged",
                  .warnings = std::move(log.warnings),
                  .road = std::move(log.road),
                  .known = std::move(log.known)};
  warn_of_unknown(speed, length, "start the log before the recording, and stop it after");
  return speed;
}

Error tacho_error_of(const TachoFailure& failure, const std::string& where) {
  using Reason = TachoFailure::Reason;
  switch (failure.reason) {
    case Reason::no_pulses:
      return {Fault::file, where, "has no tacho pulses",
              "check the pick-up and its cable, and that this is its channel"};
    case Reason::too_few:
      return {Fault::file, where, "has too few tacho pulses for a speed",
              "record longer, or check pulses per revolution"};
    case Reason::missing_teeth:
      return {Fault::file, where,
              fmt::format("has a gap after every {} tacho pulses, like a wheel with missing teeth",
                          failure.pulses_between_gaps),
              "use a pick-up with evenly spaced pulses, such as one reflective mark"};
    case Reason::interrupted:
      return {Fault::file, where,
              fmt::format("has no tacho pulses from {:.2f} s on", failure.at.value),
              "check that the pick-up stays in place, and that the engine does not stall"};
    case Reason::irregular:
      break;
  }
  return {Fault::file, where,
          fmt::format("has irregular tacho pulses: {:.0f} % of the periods do not fit",
                      failure.percent),
          "check the pick-up and its level, and that this is its channel"};
}

std::optional<std::string> times_warning(std::span<const Seconds> times, std::string_view what) {
  constexpr std::size_t named = 3;
  if (times.empty()) return std::nullopt;
  std::string list;
  for (const Seconds time : times.first(std::min(named, times.size())))
    list += fmt::format("{}{:.2f} s", list.empty() ? "" : ", ", time.value);
  return fmt::format("tacho: {} {} at {}{}", times.size(), what, list,
                     times.size() > named ? " …" : "");
}

std::vector<std::string> tacho_warnings(const TachoReading& reading) {
  std::vector<std::string> warnings;
  const auto add = [&](const std::optional<std::string>& warning) {
    if (warning) warnings.push_back(*warning);
  };
  add(times_warning(reading.missing, "missing pulses added"));
  add(times_warning(reading.extra, "extra pulses ignored"));
  add(times_warning(reading.misfits, "pulses out of step"));
  return warnings;
}

TachoReading read_tacho_channel(const std::filesystem::path& file, const Take& take,
                                const TachoSpeed& source, const std::string& where) {
  const SamplePlayer play = [&](const std::function<void(std::span<const float>)>& hear) {
    for_each_chunk(file, source.channel, chunk, hear);
  };
  auto outcome = read_tacho(play, {take.sample_rate, source.pulses_per_revolution});
  if (const auto* failure = std::get_if<TachoFailure>(&outcome))
    throw tacho_error_of(*failure, where);
  return std::get<TachoReading>(std::move(outcome));
}

TakeSpeed tacho_speed(const std::filesystem::path& file, const Take& take,
                      const TachoSpeed& source) {
  const std::string where = fmt::format("{}, channel {}", file.string(), source.channel);
  const TachoReading reading = read_tacho_channel(file, take, source, where);
  const Seconds first = reading.angles.front().time;
  const Seconds last = reading.angles.back().time;
  TakeSpeed speed{.curve = SpeedCurve::through_angles(reading.angles, tacho_error),
                  .source = "tacho",
                  .warnings = tacho_warnings(reading),
                  .road = {}};
  require_plausible(speed.curve.range(first, last).high, Fault::file, where,
                    "check pulses per revolution");
  const std::string remedy = "record the pick-up during the whole take";
  require_coverage(first, last, length_of(take), where, remedy);
  speed.known = {{first.value, last.value}};
  warn_of_unknown(speed, length_of(take), remedy);
  return speed;
}

/// "1640 rpm (55 %), 820 rpm (40 %)"
std::string likely_speeds(const SpeedFromSound& found) {
  std::string text;
  for (const SpeedHypothesis& h : found.hypotheses) {
    if (h.probability < 0.05) break;
    text += fmt::format("{}{:.0f} rpm ({:.0f} %)", text.empty() ? "" : ", ", h.mean.value,
                        100.0 * h.probability);
  }
  return text;
}

Error not_told(const SpeedFromSound& found, const std::string& where) {
  if (found.too_short)
    return {Fault::file, where, "is too short to tell the engine's speed from its sound",
            "record at least 5 s, or give --rpm N"};
  const std::string likely = likely_speeds(found);
  return {Fault::file, where,
          likely.empty() ? "does not show the engine's orders, so that its speed cannot be told"
                         : "does not settle the engine's speed; it may be " + likely,
          "give what you believe with --rpm-from-sound --rpm-near N, or the speed with --rpm N"};
}

FoundSpeed found_speed(const SpeedFromSound& found, const SpeedHypothesis& known) {
  const auto [low, high] = std::ranges::minmax(known.track, {}, &HeardSpeed::speed);
  FoundSpeed speed{.rpm = known.mean.value,
                   .rpm_ci95 = known.mean_ci95,
                   .range = {low.speed.value, high.speed.value},
                   .rivals = {}};
  for (const SpeedHypothesis& other : found.hypotheses)
    if (&other != &known && other.probability >= least_rival)
      speed.rivals.push_back({other.mean.value, other.probability});
  return speed;
}

TakeSpeed heard_speed(const std::filesystem::path& file, const Take& take,
                      const SpeedInSound& source, std::optional<int> cylinders) {
  SpeedFromSoundParameters parameters;
  parameters.cylinders = cylinders;
  if (source.near) {
    require_plausible(*source.near, Fault::command, "speed to look near", speed_range_remedy());
    // Ten per cent either way, as two standard deviations.
    parameters.near = {SpeedCurve::constant(*source.near, near_error), near_error};
  }
  const SpeedFromSound found = speed_from_sound(
      [&](const std::function<void(std::span<const float>)>& hear) {
        for_each_chunk(file, take.channel, chunk, hear);
      },
      take.sample_rate, parameters);
  const SpeedHypothesis* known = found.known();
  if (known == nullptr) throw not_told(found, file.string());
  std::vector<SpeedPoint> points;
  std::vector<double> spread;
  for (const HeardSpeed& heard : known->track) {
    points.push_back({heard.time, heard.speed});
    spread.push_back(heard.sigma / heard.speed.value);
  }
  const double of_mean =
      (known->mean_ci95.high - known->mean.value) / kNormal95 / known->mean.value;
  return {.curve = SpeedCurve::through(points, std::hypot(of_mean, median(spread))),
          .source = std::string(sound_source),
          .warnings = {},
          .road = {},
          .found = found_speed(found, *known)};
}

}  // namespace

TakeSpeed speed_of_take(const std::filesystem::path& folder, const Take& take,
                        std::optional<int> cylinders) {
  struct Resolve {
    const std::filesystem::path& folder;
    const Take& take;
    std::optional<int> cylinders;

    TakeSpeed operator()(const EnteredSpeed& source) const { return entered_speed(source); }
    TakeSpeed operator()(const EnteredRamp& source) const {
      return ramp_speed(source, length_of(take));
    }
    TakeSpeed operator()(const LoggedSpeed& source) const {
      return logged_speed(folder / source.log, length_of(take));
    }
    TakeSpeed operator()(const TachoSpeed& source) const {
      return tacho_speed(folder / take.recording, take, source);
    }
    TakeSpeed operator()(const SpeedInSound& source) const {
      return heard_speed(folder / take.recording, take, source, cylinders);
    }
    TakeSpeed operator()(const EngineOff&) const { return engine_off(); }
  };
  return std::visit(Resolve{folder, take, cylinders}, take.speed);
}

}  // namespace howl
