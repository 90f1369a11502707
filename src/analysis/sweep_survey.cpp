#include "src/analysis/sweep_survey.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>
#include <utility>

#include "dsp/critical_band.h"
#include "dsp/order_map.h"
#include "dsp/peaks.h"
#include "dsp/prominence.h"
#include "dsp/ridge.h"
#include "dsp/spectrogram.h"
#include "dsp/window.h"
#include "src/analysis/standing_humps.h"

namespace howl {

namespace {

constexpr double kLeastRidgeDb = 9.0;  // one frame's noise exceeds it in 0.04 % of its lines

/// Peaks of one frame whose lines are `spacing` Hz apart.
PeakFrame frame_peaks(const TakeAudio& take, double time, std::span<const float> power,
                      double spacing, double noise_bins, double highest) {
  PowerSpectrum frame;
  frame.spacing = spacing;
  frame.noise_bandwidth_bins = noise_bins;
  frame.effective_averages = 1.0;
  const auto lines = std::min(power.size(), static_cast<std::size_t>(highest * 1.1 / spacing) + 2);
  frame.power.assign(power.begin(), power.begin() + static_cast<std::ptrdiff_t>(lines));
  PeakParameters parameters;
  parameters.lowest = std::max(kLowestToneHz, 3.0 * spacing);
  parameters.highest = highest;
  parameters.min_height = Decibel(kLeastRidgeDb);
  PeakFrame out{time, {}, std::log(take.speed.at(Seconds(time)).value)};
  for (const Peak& peak : find_peaks(frame, parameters))
    out.peaks.push_back({time, peak.position, peak.position_sigma, peak.power, peak.floor_density,
                         peak.above_floor.value});
  return out;
}

/// Mean of |d ln n/dt| over the parts of the take where the speed changes.
double typical_sweep_rate(const TakeAudio& take) {
  std::vector<double> rates;
  for (double t = 0.0; t < take.seconds; t += 0.5) rates.push_back(std::abs(speed_rate(take, t)));
  return std::max(0.02, quantile(rates, 0.75));
}

struct SweepFrames {
  std::vector<PeakFrame> hertz;
  std::vector<PeakFrame> orders;
  std::vector<Sighting> humps;
};

SweepFrames sweep_frames(const TakeAudio& take, std::size_t index) {
  // A tone of this pitch that is locked smears over as many Hz in a frame as the frame resolves.
  constexpr double reference_hz = 600.0;
  const double seconds =
      std::clamp(std::sqrt(1.5 / (reference_hz * typical_sweep_rate(take))), 0.06, 0.35);
  const std::size_t length =
      std::max<std::size_t>(64, power_of_two_from(seconds * take.sample_rate * 0.75));
  const std::size_t hop = length / 2;
  const double highest = highest_tone_hz(take);

  SweepFrames frames;
  const double spacing = take.sample_rate / static_cast<double>(length);
  StandingHumps humps(take, spacing);
  SpectrogramStream spectrogram({WindowKind::hann, length, hop});
  const auto take_columns = [&](std::size_t first, std::span<const float> columns) {
    for (std::size_t c = 0; c * spectrogram.lines() < columns.size(); ++c) {
      const double centre = (static_cast<double>(first + c) + 1.0) * static_cast<double>(hop);
      const double time = centre / take.sample_rate;
      const double half = 0.5 / spacing;
      if (reaches_into(take.left_out, time - half, time + half)) continue;
      const auto column = columns.subspan(c * spectrogram.lines(), spectrogram.lines());
      frames.hertz.push_back(frame_peaks(take, time, column, spacing, kHannNoiseBins, highest));
      humps.add(time, column);
    }
  };
  OrderMapParameters parameters;
  parameters.highest_order = kHighestToneOrder;
  parameters.revolutions = 16.0;
  parameters.hop_revolutions = 8.0;
  OrderMap orders(take.speed, take.sample_rate, parameters, [&](const OrderColumn& column) {
    const double half = 30.0 * column.revolutions_per_block / column.speed.value;
    if (reaches_into(take.left_out, column.time.value - half, column.time.value + half)) return;
    const double hertz_per_order = take.speed.at(column.time).value / 60.0;
    frames.orders.push_back(frame_peaks(
        take, column.time.value, column.power, hertz_per_order / column.revolutions_per_block,
        kHannNoiseBins, std::min(highest, kHighestToneOrder * hertz_per_order)));
  });
  take.stream([&](std::span<const float> chunk) {
    spectrogram.push(chunk, take_columns);
    orders.push(chunk);
  });
  spectrogram.flush(take_columns);
  orders.finish();
  frames.humps = humps.find(index);
  return frames;
}

RidgeParameters ridge_parameters(const TakeAudio& take, const std::vector<PeakFrame>& frames) {
  RidgeParameters parameters;
  for (double t = 0.0; t < take.seconds; t += 0.25) {
    const double rate = speed_rate(take, t);
    parameters.slope_low = std::min(parameters.slope_low, rate);
    parameters.slope_high = std::max(parameters.slope_high, rate);
  }
  if (frames.size() > 1) {
    const double step =
        (frames.back().time - frames.front().time) / static_cast<double>(frames.size() - 1);
    parameters.longest_gap = std::max(0.5, 3.5 * step);
  }
  return parameters;
}

double mean_height(const Ridge& ridge) {
  double sum = 0.0;
  for (const RidgePoint& p : ridge.points) sum += p.height_db;
  return sum / static_cast<double>(ridge.points.size());
}

std::optional<double> frequency_at(const Ridge& ridge, double time) {
  const auto after = std::lower_bound(ridge.points.begin(), ridge.points.end(), time,
                                      [](const RidgePoint& p, double t) { return p.time < t; });
  if (after == ridge.points.end() || after == ridge.points.begin()) return std::nullopt;
  const RidgePoint& a = *(after - 1);
  const double share = (time - a.time) / (after->time - a.time);
  return a.frequency + share * (after->frequency - a.frequency);
}

/// Whether most of the shorter ridge runs along the longer one.
bool same_ridge(const Ridge& longer, const Ridge& shorter) {
  std::size_t along = 0;
  for (const RidgePoint& p : shorter.points)
    if (const auto f = frequency_at(longer, p.time))
      along +=
          std::abs(std::log(*f / p.frequency)) < std::max(kSameTone, 3.0 * p.sigma / p.frequency);
  return 2 * along > shorter.points.size();
}

double life(const Ridge& ridge) { return ridge.points.back().time - ridge.points.front().time; }

/// Drops copies: of two that run together, the one that stands higher for longer stays.
std::vector<Ridge> without_copies(std::vector<Ridge> ridges) {
  std::stable_sort(ridges.begin(), ridges.end(), [](const Ridge& a, const Ridge& b) {
    return life(a) * mean_height(a) > life(b) * mean_height(b);
  });
  std::vector<Ridge> kept;
  for (Ridge& ridge : ridges) {
    const bool copy = std::any_of(kept.begin(), kept.end(), [&](const Ridge& k) {
      return same_ridge(life(k) >= life(ridge) ? k : ridge, life(k) >= life(ridge) ? ridge : k);
    });
    if (!copy) kept.push_back(std::move(ridge));
  }
  return kept;
}

Sighting ridge_sighting(const TakeAudio& take, std::size_t index, const Ridge& ridge) {
  Sighting s;
  s.take = index;
  s.followed = true;
  s.frequency_hz = {1e12, 0.0};
  s.rpm = {1e12, 0.0};
  double power = 0.0;
  double noise = 0.0;
  double limit = 0.0;
  s.levels_db.reserve(ridge.points.size());
  for (const RidgePoint& p : ridge.points) {
    s.points.push_back(pitch_point(take, index, p.time, p.frequency, p.sigma));
    s.frequency_hz = {std::min(s.frequency_hz.low, p.frequency),
                      std::max(s.frequency_hz.high, p.frequency)};
    s.rpm = {std::min(s.rpm.low, s.points.back().rpm), std::max(s.rpm.high, s.points.back().rpm)};
    s.levels_db.push_back(full_scale_level(p.power).value);
    power += p.power;
    noise += p.floor_density * critical_bandwidth(Hertz(p.frequency)).value;
    limit += tone_to_noise_limit(Hertz(p.frequency)).value;
  }
  const auto count = static_cast<double>(ridge.points.size());
  s.level_db = full_scale_level(power / count).value;
  s.tone_to_noise_db = 10.0 * std::log10(power / noise);
  s.limit_db = limit / count;
  s.prominent = is_prominent(s.tone_to_noise_db, s.limit_db,
                             std::sqrt(s.frequency_hz.low * s.frequency_hz.high));
  s.seconds = life(ridge);
  return s;
}

/// Cuts where the ridge leaves a law that most of its steps obey: an order (the speed's own slope)
/// or a fixed pitch.
std::vector<Ridge> cut_hops(const TakeAudio& take, const Ridge& ridge) {
  std::vector<double> log_rpm;
  for (const RidgePoint& p : ridge.points)
    log_rpm.push_back(std::log(take.speed.at(Seconds(p.time)).value));
  return split_at_hops(ridge, log_rpm);
}

bool beside_hump(const Sighting& s, const std::vector<Sighting>& humps) {
  constexpr double reach = 0.12;
  return std::any_of(humps.begin(), humps.end(), [&](const Sighting& hump) {
    const double f = std::sqrt(hump.frequency_hz.low * hump.frequency_hz.high);
    return s.frequency_hz.low > f * (1.0 - reach) && s.frequency_hz.high < f * (1.0 + reach);
  });
}

void mark_crossings(std::vector<Sighting>& ridges, const std::vector<Sighting>& humps) {
  for (Sighting& ridge : ridges)
    for (const Sighting& hump : humps)
      if (hump.frequency_hz.high > ridge.frequency_hz.low &&
          hump.frequency_hz.low < ridge.frequency_hz.high)
        ridge.crosses_hump = true;
}

/// A long ridge as strong as the hump is a tone that was followed, and the hump its blurred image:
/// a resonance holds more than any one line that passes through it.
bool followed_already(const Sighting& hump, const std::vector<Sighting>& ridges) {
  return std::any_of(ridges.begin(), ridges.end(), [&](const Sighting& s) {
    constexpr double reach = 0.15;
    const bool near = s.frequency_hz.low > hump.frequency_hz.low * (1.0 - reach) &&
                      s.frequency_hz.high < hump.frequency_hz.high * (1.0 + reach);
    return near && 2.5 * s.seconds > hump.seconds &&
           s.tone_to_noise_db > hump.tone_to_noise_db - 3.0;
  });
}

}  // namespace

std::vector<Sighting> survey_sweep(const TakeAudio& take, std::size_t index) {
  SweepFrames frames = sweep_frames(take, index);
  std::vector<Ridge> ridges = link_ridges(frames.hertz, ridge_parameters(take, frames.hertz));
  for (Ridge& ridge : link_ridges(frames.orders, ridge_parameters(take, frames.orders)))
    ridges.push_back(std::move(ridge));
  std::vector<Sighting> followed;
  for (const Ridge& ridge : without_copies(std::move(ridges)))
    for (const Ridge& piece : cut_hops(take, ridge))
      followed.push_back(ridge_sighting(take, index, piece));
  std::erase_if(frames.humps,
                [&](const Sighting& hump) { return followed_already(hump, followed); });
  // What wanders inside a hump is the hump's own noise, or orders that pass.
  std::erase_if(followed, [&](const Sighting& s) { return beside_hump(s, frames.humps); });
  mark_crossings(followed, frames.humps);
  std::move(frames.humps.begin(), frames.humps.end(), std::back_inserter(followed));
  return followed;
}

}  // namespace howl
