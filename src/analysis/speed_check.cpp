#include "src/analysis/speed_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "dsp/log_lag.h"
#include "dsp/order_map.h"
#include "dsp/speed_from_sound.h"
#include "dsp/speed_votes.h"
#include "dsp/statistics.h"
#include "src/analysis/like_takes.h"
#include "src/speed/coverage.h"

namespace howl {

namespace {

constexpr double kUnsteady = 1.04;
constexpr double kNoteworthyLag = 0.1;
/// What a reading or a log may be off without being wrong, in standard deviations of its own.
constexpr double kWrittenSlack = 3.0;
constexpr double kLeastSlack = 0.01;
/// Longest take whose sound is held to find a lag, s.
constexpr double kLongestForLag = 600.0;

SpeedFromSound listen(const TakeAudio& take, std::optional<int> cylinders) {
  SpeedFromSoundParameters parameters;
  parameters.cylinders = cylinders;
  parameters.near = {take.speed,
                     std::max(kLeastSlack, kWrittenSlack * take.speed.relative_error())};
  return speed_from_sound(take.stream, take.sample_rate, parameters);
}

/// Heard over written, less 1: median over the take, as far as its speed was written down.
double disagreement(const SpeedHypothesis& heard, const TakeAudio& take) {
  const TimeSpans unknown = without_speed(take);
  std::vector<double> ratio;
  for (const HeardSpeed& h : heard.track)
    if (!contains(unknown, h.time.value)) ratio.push_back(h.speed / take.speed.at(h.time) - 1.0);
  return ratio.empty() ? 0.0 : median(ratio);
}

/// Range of the speed, moments left out at which it can hardly be heard; none where that leaves too
/// few.
std::optional<Interval> usual_range(const SpeedHypothesis& heard) {
  constexpr double well_heard = 0.0025;
  std::vector<double> rpm;
  for (const HeardSpeed& h : heard.track)
    if (h.sigma < well_heard * h.speed.value) rpm.push_back(h.speed.value);
  if (2 * rpm.size() < heard.track.size()) return std::nullopt;
  return Interval{quantile(rpm, 0.05), quantile(rpm, 0.95)};
}

double written_mean(const SpeedHypothesis& heard, const SpeedCurve& written) {
  double sum = 0.0;
  for (const HeardSpeed& h : heard.track) sum += std::log(written.at(h.time).value);
  return std::exp(sum / static_cast<double>(heard.track.size()));
}

void warn_of_disagreement(const SpeedHypothesis& heard, const TakeAudio& take, double off,
                          std::vector<std::string>& warnings) {
  if (std::abs(off) <= kDisagreement) return;
  // Where the speed changes, the ratio of the means is not that of most moments.
  const bool hold = is_hold(take);
  warnings.push_back(fmt::format(
      "the speed is {:.0f} rpm{} as {}, but the sound says {:.0f} rpm{} {:.1f} % {}; check the "
      "speed, or change the take to --rpm-from-sound",
      written_mean(heard, take.speed), hold ? "" : " on the average", take.speed_source,
      heard.mean.value, hold ? "," : "; at the typical moment it says", 100.0 * std::abs(off),
      off > 0.0 ? "higher" : "lower"));
}

void warn_if_unsteady(const SpeedHypothesis& heard, const TakeAudio& take,
                      std::vector<std::string>& warnings) {
  const std::optional<Interval> range = usual_range(heard);
  if (!is_hold(take) || !range || range->high / range->low < kUnsteady) return;
  warnings.push_back(fmt::format(
      "the speed did not hold still: the sound says {:.0f} to {:.0f} rpm; hold it steadier, or "
      "change the take to --rpm-from-sound",
      range->low, range->high));
}

std::vector<float> slow_copy(const TakeAudio& take) {
  std::vector<float> slow;
  AngleResampler resampler(SpeedCurve::constant(Rpm(60.0), 0.0), take.sample_rate, kVoteRate);
  take.stream([&](std::span<const float> chunk) { resampler.push(chunk, slow); });
  resampler.finish(slow);
  return slow;
}

}  // namespace

SoundSpeed check_speed(TakeAudio& take, std::optional<int> cylinders,
                       std::vector<std::string>& warnings) {
  const SpeedFromSound found = listen(take, cylinders);
  SoundSpeed result;
  for (const SpeedHypothesis& h : found.hypotheses)
    if (h.probability >= 0.01) result.hypotheses.push_back({h.mean.value, h.probability});
  const SpeedHypothesis* known = found.known();
  if (known == nullptr) return result;
  take.heard_rpm = result.rpm = known->mean.value;
  result.rpm_ci95 = known->mean_ci95;
  for (const HeardSpeed& h : known->track) {
    const double reach = kNormal95 * h.sigma;
    result.track.push_back(
        {h.time.value, h.speed.value, {h.speed.value - reach, h.speed.value + reach}});
  }
  const double off = disagreement(*known, take);
  result.disagreement_percent = 100.0 * off;
  warn_of_disagreement(*known, take, off, warnings);
  warn_if_unsteady(*known, take, warnings);
  return result;
}

bool contradicts_speed(const TakeAudio& take) {
  return take.heard_rpm && std::abs(*take.heard_rpm / mean_rpm(take) - 1.0) > kDisagreement;
}

bool contradicts_speed(const SoundSpeed& heard) {
  return heard.rpm && std::abs(heard.disagreement_percent.value_or(0.0)) > 100.0 * kDisagreement;
}

std::vector<std::string> contradicted_takes(const Analysis& analysis, const ToneResult& tone) {
  std::vector<std::string> contradicted;
  for (const TakeResult& take : analysis.takes)
    if (contradicts_speed(take.sound_speed) &&
        std::ranges::find(tone.takes, take.id) != tone.takes.end())
      contradicted.push_back(take.id);
  if (4 * contradicted.size() <= tone.takes.size()) contradicted.clear();
  return contradicted;
}

void align_log(TakeAudio& take, std::vector<std::string>& warnings) {
  if (take.speed_source != "logged" || take.seconds > kLongestForLag) return;
  const LogLag found = find_log_lag(slow_copy(take), kVoteRate, take.speed, {});
  take.lag_unclear = found.doubt == LagDoubt::not_sharp;
  if (take.lag_unclear)
    warnings.emplace_back(
        "whether the log runs before or behind the sound is not clear, and it was left as it is: "
        "no shift within 3 s makes the order map clearly sharper; a sweep with some seconds of "
        "steady speed before and after it would show it");
  if (found.doubt != LagDoubt::none) return;
  take.speed = take.speed.later(Seconds(-found.lag.value));
  take.lag_sigma = found.sigma.value;
  take.lag_taken_out = found.lag.value;
  for (RoadSpeedPoint& p : take.road) p.time = p.time - found.lag;
  for (Interval& known : take.speed_known)
    known = {known.low - found.lag.value, known.high - found.lag.value};
  if (std::abs(found.lag.value) <= kNoteworthyLag) return;
  const TimeSpans unknown = without_speed(take);
  warnings.push_back(fmt::format(
      "the log runs {:.2f} s {} the sound and was shifted to it (the order map is sharpest so){}",
      std::abs(found.lag.value), found.lag.value > 0.0 ? "behind" : "ahead of",
      unknown.empty() ? std::string{}
                      : fmt::format("; so shifted, it says no speed from {}, which are left out",
                                    places_of(unknown))));
}

}  // namespace howl
