#include "src/analysis/tone_meter.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "dsp/critical_band.h"
#include "dsp/noise_floor.h"
#include "dsp/order_map.h"
#include "dsp/peaks.h"
#include "dsp/prominence.h"
#include "dsp/spectrogram.h"
#include "dsp/third_octave.h"
#include "dsp/window.h"
#include "src/analysis/hold_survey.h"
#include "src/analysis/like_takes.h"
#include "src/analysis/line_power.h"
#include "src/analysis/sighting.h"

namespace howl {

namespace {

using Unit = AnalysisRequest::Band::Unit;

constexpr double kLeastPeakDb = 6.0;
constexpr int kFirstRestBand = -10;  // 100 Hz
constexpr int kLastRestBand = 6;     // 4 kHz

/// In a sweep, blocks so short that a hump or another order does not smear over the window.
double block_turns(const TakeAudio& take) {
  const double turns = mean_rpm(take) / 60.0 * take.seconds;
  if (!is_hold(take)) return 16.0;
  return std::max(8.0, 4.0 * std::floor(std::min(64.0, turns / 4.0) / 4.0));
}

/// Blocks of one view of a take (in Hz or in orders): powers in its windows, and the sum of its
/// spectra.
class View {
 public:
  View(std::span<const ToneWindow> windows, Unit unit, const TimeSpans& left_out)
      : left_out_(left_out) {
    for (std::size_t w = 0; w < windows.size(); ++w)
      if (windows[w].place.unit == unit) own_.push_back({w, windows[w].place.range, {}});
  }

  bool empty() const { return own_.empty(); }

  /// One block, `seconds` long about `time`.
  void add(double time, double seconds, std::span<const float> power, double spacing) {
    spacing_ = spacing;
    times_.push_back(time);
    held_.push_back(!reaches_into(left_out_, time - 0.5 * seconds, time + 0.5 * seconds));
    for (Own& own : own_)
      own.powers.push_back(
          power_between(power, spacing, kHannNoiseBins, own.range.low, own.range.high));
    sum_.resize(power.size());
    if (!held_.back()) return;
    for (std::size_t k = 0; k < power.size(); ++k) sum_[k] += static_cast<double>(power[k]);
  }

  double block_seconds() const {
    return times_.size() > 1
               ? (times_.back() - times_.front()) / static_cast<double>(times_.size() - 1)
               : 0.0;
  }
  /// Mean over the blocks that count. Line spacing as added, times `scale`.
  PowerSpectrum spectrum(double scale) const {
    PowerSpectrum mean;
    const auto kept = static_cast<std::size_t>(std::count(held_.begin(), held_.end(), true));
    if (kept == 0) return mean;
    mean.spacing = spacing_ * scale;
    mean.noise_bandwidth_bins = kHannNoiseBins;
    const std::vector<double> window = make_window(WindowKind::hann, 256);
    mean.effective_averages = effective_averages(window, 128, kept);
    mean.power = sum_;
    for (double& p : mean.power) p /= static_cast<double>(kept);
    return mean;
  }

  struct Own {
    std::size_t window;
    Interval range;
    std::vector<double> powers;
  };
  const std::vector<Own>& own() const { return own_; }
  std::vector<double> held_powers(const Own& own) const {
    std::vector<double> kept;
    for (std::size_t i = 0; i < held_.size(); ++i)
      if (held_[i]) kept.push_back(own.powers[i]);
    return kept;
  }

 private:
  const TimeSpans& left_out_;
  std::vector<Own> own_;
  double spacing_{};
  std::vector<double> times_;
  std::vector<bool> held_;
  std::vector<double> sum_;
};

double sum_of_lines(std::span<const double> power, const PowerSpectrum& like, Interval range) {
  const std::vector<float> lines(power.begin(), power.end());
  return power_between(lines, like.spacing, like.noise_bandwidth_bins, range.low, range.high);
}

std::map<int, double> rest_levels(const PowerSpectrum& spectrum, std::span<const double> floor) {
  PowerSpectrum noise = spectrum;
  noise.power.assign(floor.begin(), floor.end());
  std::map<int, double> levels;
  for (const ThirdOctave& band : third_octaves(noise, kFirstRestBand, kLastRestBand))
    if (band.mean_square && *band.mean_square > 0.0)
      levels[band.index] = 10.0 * std::log10(*band.mean_square);
  return levels;
}

/// The spectrum of a view with what is found in it once for all windows.
struct ViewReading {
  PowerSpectrum spectrum;  // in Hz, for a hold's orders at its mean speed
  std::vector<double> floor;
  std::vector<Peak> peaks;
  std::vector<Hertz> tones;
};

ViewReading reading_of(PowerSpectrum spectrum, double highest_hz) {
  ViewReading reading{std::move(spectrum), {}, {}, {}};
  if (reading.spectrum.power.empty()) return reading;
  reading.floor = noise_floor(reading.spectrum, std::nullopt);
  PeakParameters parameters;
  parameters.lowest = kLowestToneHz;
  parameters.highest = highest_hz;
  parameters.min_height = Decibel(kLeastPeakDb);
  reading.peaks = find_peaks(reading.spectrum, parameters);
  for (const Peak& peak : reading.peaks) reading.tones.emplace_back(peak.position);
  return reading;
}

void rate_hold(WindowReading& window, const ViewReading& reading, Interval range_hz) {
  const Peak* strongest = nullptr;
  for (const Peak& peak : reading.peaks)
    if (range_hz.contains(peak.position) && (!strongest || peak.power > strongest->power))
      strongest = &peak;
  if (!strongest) return;
  const Hertz at(strongest->position);
  const ToneToNoise ratio = tone_to_noise(reading.spectrum, at, reading.tones);
  window.limit_db = tone_to_noise_limit(at).value;
  window.prominent = ratio.prominent;
  if (ratio.ratio)
    window.tone_to_noise_db = ratio.ratio->value;
  else if (ratio.indicative_ratio)
    window.tone_to_noise_db = ratio.indicative_ratio->value;
}

void rate_sweep(WindowReading& window, double floor_density, double middle_hz) {
  const double excess = mean(window.blocks.block_power) - window.blocks.noise_power;
  const double noise = floor_density * critical_bandwidth(Hertz(middle_hz)).value;
  if (!(excess > 0.0 && noise > 0.0)) return;
  const double ratio = 10.0 * std::log10(excess / noise);
  window.tone_to_noise_db = ratio;
  window.prominent = is_prominent(ratio, window.limit_db, middle_hz);
}

void read_windows(const View& view, const ViewReading& reading, const TakeAudio& take,
                  std::span<const ToneWindow> windows, double hertz_per_unit, TakeReading& result) {
  if (reading.spectrum.power.empty()) return;
  const double top = reading.spectrum.position(reading.spectrum.power.size() - 1);
  for (const View::Own& own : view.own()) {
    const Interval hertz{own.range.low * hertz_per_unit, own.range.high * hertz_per_unit};
    WindowReading window;
    window.blocks.block_power = view.held_powers(own);
    // The top of a sweep lies above its mean.
    const bool in_orders = windows[own.window].place.unit == Unit::order;
    const double highest =
        in_orders ? own.range.high * speed_range(take).high.value / 60.0 : hertz.high;
    if (hertz.high > top || highest > highest_tone_hz(take) || window.blocks.block_power.empty())
      continue;
    const double middle = std::sqrt(std::max(1.0, hertz.low) * hertz.high);
    window.limit_db = tone_to_noise_limit(Hertz(middle)).value;
    const double noise = sum_of_lines(reading.floor, reading.spectrum, hertz);
    if (!windows[own.window].with_noise) {
      window.blocks.noise_power = noise;
      if (is_hold(take))
        rate_hold(window, reading, hertz);
      else
        rate_sweep(window, noise / hertz.width(), middle);
    }
    result.windows[own.window] = std::move(window);
  }
}

}  // namespace

double line_hz(const TakeAudio& take) {
  return take.sample_rate / static_cast<double>(hold_block_length(take));
}

double line_orders(const TakeAudio& take) { return 1.0 / block_turns(take); }

TakeReading read_take(const TakeAudio& take, std::span<const ToneWindow> windows) {
  TakeReading result;
  result.windows.resize(windows.size());
  View hertz(windows, Unit::hertz, take.left_out);
  View orders(windows, Unit::order, take.left_out);

  const std::size_t length = hold_block_length(take);
  const std::size_t hop = length / 2;
  SpectrogramStream spectrogram({WindowKind::hann, length, hop});
  const auto take_columns = [&](std::size_t first, std::span<const float> columns) {
    for (std::size_t c = 0; c * spectrogram.lines() < columns.size(); ++c) {
      const double centre = (static_cast<double>(first + c) + 1.0) * static_cast<double>(hop);
      hertz.add(centre / take.sample_rate, 1.0 / line_hz(take),
                columns.subspan(c * spectrogram.lines(), spectrogram.lines()), line_hz(take));
    }
  };
  OrderMapParameters parameters;
  parameters.highest_order = kHighestToneOrder;
  parameters.revolutions = block_turns(take);
  parameters.hop_revolutions = parameters.revolutions / 2.0;
  OrderMap map(take.speed, take.sample_rate, parameters, [&](const OrderColumn& column) {
    orders.add(column.time.value, 60.0 * column.revolutions_per_block / column.speed.value,
               column.power, 1.0 / column.revolutions_per_block);
  });
  take.stream([&](std::span<const float> chunk) {
    spectrogram.push(chunk, take_columns);
    if (!orders.empty()) map.push(chunk);
  });
  spectrogram.flush(take_columns);
  if (!orders.empty()) map.finish();

  const ViewReading in_hertz = reading_of(hertz.spectrum(1.0), highest_tone_hz(take));
  const double per_order = mean_rpm(take) / 60.0;
  const ViewReading in_orders = reading_of(orders.spectrum(per_order), highest_tone_hz(take));
  if (!in_hertz.floor.empty()) result.rest_db = rest_levels(in_hertz.spectrum, in_hertz.floor);
  result.block_seconds = hertz.block_seconds();
  result.share_left_out = covered(take.left_out) / take.seconds;
  result.clipped = take.clipped_share > 0.0;
  read_windows(hertz, in_hertz, take, windows, 1.0, result);
  read_windows(orders, in_orders, take, windows, per_order, result);
  return result;
}

}  // namespace howl
