#include "src/analysis/take_survey.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "dsp/critical_band.h"
#include "dsp/order_map.h"
#include "dsp/peaks.h"
#include "dsp/prominence.h"
#include "dsp/ridge.h"
#include "dsp/spectrogram.h"
#include "dsp/spectrum.h"

namespace howl {

namespace {

constexpr double kLowestHz = 40.0;
constexpr double kHighestHz = 10000.0;
constexpr double kHighestOrder = 150.0;
constexpr double kHoldResolutionSeconds = 1.2;  // length of a hold's blocks
constexpr double kHoldHeightDb = 6.0;
constexpr double kFrameHeightDb = 9.0;  // one frame's noise exceeds it in 0.04 % of its lines
constexpr double kSameTone = 0.006;     // ln f: copies of one tone in two views

double highest_hz(const TakeAudio& take) { return std::min(kHighestHz, 0.45 * take.sample_rate); }

std::size_t even_power_of_two(double samples) {
  std::size_t n = 2;
  while (static_cast<double>(n) < samples) n *= 2;
  return n;
}

double speed_rate(const TakeAudio& take, double time) {
  constexpr double dt = 0.25;
  const double before = take.speed.at(Seconds(std::max(0.0, time - dt))).value;
  const double after = take.speed.at(Seconds(std::min(take.seconds, time + dt))).value;
  return std::log(after / before) / (std::min(take.seconds, time + dt) - std::max(0.0, time - dt));
}

PitchPoint pitch_point(const TakeAudio& take, std::size_t index, double time, double frequency,
                       double sigma) {
  PitchPoint p;
  p.time = time;
  p.frequency_hz = frequency;
  p.sigma_hz = sigma;
  p.rpm = take.speed.at(Seconds(time)).value;
  p.speed_sigma = take.speed.relative_error();
  p.speed_rate = speed_rate(take, time);
  p.lag_sigma = take.lag_sigma;
  p.road_speed_kmh = take.road_speed_kmh;
  p.motion_unknown = take.motion_unknown;

  p.take = index;
  return p;
}

// ---- holds -------------------------------------------------------------------------------------

struct HoldSpectra {
  PowerSpectrum hertz;
  std::optional<PowerSpectrum> orders;  ///< spacing in Hz at the mean speed
  double mean_rpm;
};

HoldSpectra hold_spectra(const TakeAudio& take) {
  // At least six half-overlapped blocks, so that the noise floor is an average.
  const double block = std::min(kHoldResolutionSeconds, take.seconds / 3.5);
  const std::size_t length =
      std::max<std::size_t>(64, even_power_of_two(block * take.sample_rate) / 2);
  WelchSpectrum welch(take.sample_rate, {WindowKind::hann, length, length / 2});
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  const double mean_rpm = 60.0 * turns / take.seconds;

  const bool speed_measured = take.speed_source == "logged" || take.speed_source == "tacho";
  if (!speed_measured || turns < 32.0) {
    take.stream([&](std::span<const float> chunk) { welch.push(chunk); });
    return {welch.result(), std::nullopt, mean_rpm};
  }
  OrderMapParameters parameters;
  parameters.highest_order = kHighestOrder;
  parameters.revolutions = std::max(8.0, 4.0 * std::floor(std::min(64.0, turns / 4.0) / 4.0));
  parameters.hop_revolutions = parameters.revolutions / 2.0;
  OrderSpectrum orders(take.speed, take.sample_rate, parameters);
  take.stream([&](std::span<const float> chunk) {
    welch.push(chunk);
    orders.push(chunk);
  });
  PowerSpectrum scaled = orders.finish();
  scaled.spacing *= mean_rpm / 60.0;
  return {welch.result(), std::move(scaled), mean_rpm};
}

Sighting hold_sighting(const TakeAudio& take, std::size_t index, const PowerSpectrum& spectrum,
                       const Peak& peak, const std::vector<Hertz>& tones, double mean_rpm) {
  Sighting s;
  s.take = index;
  const double frequency = peak.position;
  PitchPoint point = pitch_point(take, index, 0.5 * take.seconds, frequency, peak.position_sigma);
  point.rpm = mean_rpm;
  point.speed_rate = 0.0;
  s.points = {point};
  s.frequency_hz = {frequency, frequency};
  s.rpm = {mean_rpm, mean_rpm};
  s.level_db = full_scale_level(peak.power).value;
  const ToneToNoise ratio = tone_to_noise(spectrum, Hertz(frequency), tones);
  const double floor_ratio =
      10.0 *
      std::log10(peak.power / (peak.floor_density * critical_bandwidth(Hertz(frequency)).value));
  s.tone_to_noise_db = ratio.ratio              ? ratio.ratio->value
                       : ratio.indicative_ratio ? ratio.indicative_ratio->value
                                                : floor_ratio;
  s.limit_db = tone_to_noise_limit(Hertz(frequency)).value;
  s.prominent = ratio.prominent;
  s.seconds = take.seconds;
  return s;
}

std::vector<Sighting> line_sightings(const TakeAudio& take, std::size_t index,
                                     const PowerSpectrum& spectrum, double mean_rpm) {
  if (spectrum.power.empty()) return {};
  PeakParameters parameters;
  parameters.lowest = kLowestHz;
  parameters.highest = std::min(highest_hz(take), spectrum.position(spectrum.power.size() - 1));
  parameters.min_height = Decibel(kHoldHeightDb);
  const std::vector<Peak> peaks = find_peaks(spectrum, parameters);
  std::vector<Hertz> tones;
  for (const Peak& peak : peaks) tones.emplace_back(peak.position);
  std::vector<Sighting> sightings;
  for (const Peak& peak : peaks)
    sightings.push_back(hold_sighting(take, index, spectrum, peak, tones, mean_rpm));
  return sightings;
}

double sighting_frequency(const Sighting& s) { return s.points.front().frequency_hz; }

/// Adds to `kept` what the other view shows in addition; where both show a tone, the higher
/// tone-to-noise ratio is the better focus.
void merge_lines(std::vector<Sighting>& kept, std::vector<Sighting> more) {
  for (Sighting& s : more) {
    const auto twin = std::find_if(kept.begin(), kept.end(), [&](const Sighting& k) {
      return std::abs(std::log(sighting_frequency(k) / sighting_frequency(s))) < kSameTone;
    });
    if (twin == kept.end())
      kept.push_back(std::move(s));
    else if (s.tone_to_noise_db > twin->tone_to_noise_db)
      *twin = std::move(s);
  }
}

std::vector<Sighting> survey_hold(const TakeAudio& take, std::size_t index) {
  const HoldSpectra spectra = hold_spectra(take);
  std::vector<Sighting> sightings = line_sightings(take, index, spectra.hertz, spectra.mean_rpm);
  if (spectra.orders)
    merge_lines(sightings, line_sightings(take, index, *spectra.orders, spectra.mean_rpm));
  return sightings;
}

// ---- sweeps ------------------------------------------------------------------------------------

/// Peaks of one frame whose lines are `spacing` Hz apart.
PeakFrame frame_peaks(double time, std::span<const float> power, double spacing, double noise_bins,
                      double highest) {
  PowerSpectrum frame;
  frame.spacing = spacing;
  frame.noise_bandwidth_bins = noise_bins;
  frame.effective_averages = 1.0;
  const auto lines = std::min(power.size(), static_cast<std::size_t>(highest * 1.1 / spacing) + 2);
  frame.power.assign(power.begin(), power.begin() + static_cast<std::ptrdiff_t>(lines));
  PeakParameters parameters;
  parameters.lowest = std::max(kLowestHz, 3.0 * spacing);
  parameters.highest = highest;
  parameters.min_height = Decibel(kFrameHeightDb);
  PeakFrame out{time, {}};
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
};

SweepFrames sweep_frames(const TakeAudio& take) {
  // A tone of this pitch that is locked smears over as many Hz in a frame as the frame resolves.
  constexpr double reference_hz = 600.0;
  const double seconds =
      std::clamp(std::sqrt(1.5 / (reference_hz * typical_sweep_rate(take))), 0.06, 0.35);
  const std::size_t length =
      std::max<std::size_t>(64, even_power_of_two(seconds * take.sample_rate * 0.75));
  const double highest = highest_hz(take);
  const double hann_bins = 1.5;

  SweepFrames frames;
  const double spacing = take.sample_rate / static_cast<double>(length);
  SpectrogramStream spectrogram({WindowKind::hann, length, length / 2});
  const auto take_columns = [&](std::size_t first, std::span<const float> columns) {
    for (std::size_t c = 0; c * spectrogram.lines() < columns.size(); ++c) {
      const double centre =
          (static_cast<double>(first + c) + 1.0) * static_cast<double>(length / 2);
      frames.hertz.push_back(frame_peaks(
          centre / take.sample_rate, columns.subspan(c * spectrogram.lines(), spectrogram.lines()),
          spacing, hann_bins, highest));
    }
  };
  OrderMapParameters parameters;
  parameters.highest_order = kHighestOrder;
  parameters.revolutions = 16.0;
  parameters.hop_revolutions = 8.0;
  OrderMap orders(take.speed, take.sample_rate, parameters, [&](const OrderColumn& column) {
    const double hertz_per_order = column.speed.value / 60.0;
    frames.orders.push_back(frame_peaks(column.time.value, column.power,
                                        hertz_per_order / column.revolutions_per_block, hann_bins,
                                        std::min(highest, kHighestOrder * hertz_per_order)));
  });
  take.stream([&](std::span<const float> chunk) {
    spectrogram.push(chunk, take_columns);
    orders.push(chunk);
  });
  spectrogram.flush(take_columns);
  orders.finish();
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
  for (const RidgePoint& p : ridge.points) {
    s.points.push_back(pitch_point(take, index, p.time, p.frequency, p.sigma));
    s.frequency_hz = {std::min(s.frequency_hz.low, p.frequency),
                      std::max(s.frequency_hz.high, p.frequency)};
    s.rpm = {std::min(s.rpm.low, s.points.back().rpm), std::max(s.rpm.high, s.points.back().rpm)};
    power += p.power;
    noise += p.floor_density * critical_bandwidth(Hertz(p.frequency)).value;
    limit += tone_to_noise_limit(Hertz(p.frequency)).value;
  }
  const auto count = static_cast<double>(ridge.points.size());
  s.level_db = full_scale_level(power / count).value;
  s.tone_to_noise_db = 10.0 * std::log10(power / noise);
  s.limit_db = limit / count;
  s.prominent = s.tone_to_noise_db >= s.limit_db;
  s.seconds = life(ridge);
  return s;
}

std::vector<Sighting> survey_sweep(const TakeAudio& take, std::size_t index) {
  const SweepFrames frames = sweep_frames(take);
  std::vector<Ridge> ridges = link_ridges(frames.hertz, ridge_parameters(take, frames.hertz));
  for (Ridge& ridge : link_ridges(frames.orders, ridge_parameters(take, frames.orders)))
    ridges.push_back(std::move(ridge));
  std::vector<Sighting> sightings;
  for (const Ridge& ridge : without_copies(std::move(ridges)))
    sightings.push_back(ridge_sighting(take, index, ridge));
  return sightings;
}

}  // namespace

TakeSurvey survey_take(const TakeAudio& take, std::size_t index) {
  TakeSurvey survey;
  survey.sightings = is_hold(take) ? survey_hold(take, index) : survey_sweep(take, index);
  std::stable_sort(survey.sightings.begin(), survey.sightings.end(),
                   [](const Sighting& a, const Sighting& b) {
                     return a.tone_to_noise_db - a.limit_db > b.tone_to_noise_db - b.limit_db;
                   });
  if (survey.sightings.empty()) survey.warnings.push_back("no tone stands out of the noise");
  return survey;
}

}  // namespace howl
