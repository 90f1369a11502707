#include "dsp/order_map.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <utility>

#include "dsp/fft.h"
#include "dsp/special_functions.h"

namespace howl {

namespace {

// Kernel half width in output samples, and how finely it is tabulated. The Kaiser shape is for 85
// dB over a transition from 0.75 to 1.25 of the half rate (Kaiser 1974: A = 2.285·Δω·taps + 8).
constexpr int kHalfWidth = 12;
constexpr int kStepsPerUnit = 1024;
constexpr double kKaiserBeta = 8.4;

/// Windowed sinc at u output samples from its centre, tabulated for u ≥ 0.
const std::vector<float>& kernel_table() {
  static const std::vector<float> table = [] {
    std::vector<float> values(kHalfWidth * kStepsPerUnit + 2, 0.0F);
    for (std::size_t i = 0; i + 1 < values.size(); ++i) {
      const double u = static_cast<double>(i) / kStepsPerUnit;
      const double inside = 1.0 - (u / kHalfWidth) * (u / kHalfWidth);
      const double window =
          bessel_i0(kKaiserBeta * std::sqrt(std::max(0.0, inside))) / bessel_i0(kKaiserBeta);
      values[i] = static_cast<float>(sinc(u) * window);
    }
    return values;
  }();
  return table;
}

}  // namespace

struct AngleResampler::State {
  SpeedCurve speed;
  double sample_rate;
  double per_revolution;
  double first_revolution;
  std::vector<float> buffer;  // audio from sample `buffer_start` on
  std::int64_t buffer_start = 0;
  std::int64_t received = 0;
  std::int64_t produced = 0;

  double revolution_of(std::int64_t output) const {
    return first_revolution + static_cast<double>(output) / per_revolution;
  }

  /// Output samples per audio sample around a time, never above 1: the cut-off as a share of half
  /// the audio's rate.
  double local_rate(double time) const {
    return std::clamp(speed.at(Seconds(time)).value / 60.0 * per_revolution / sample_rate, 1e-4,
                      1.0);
  }

  float interpolate(double position, double rate) const {
    const std::vector<float>& table = kernel_table();
    const double reach = kHalfWidth / rate;
    const auto first =
        std::max(buffer_start, static_cast<std::int64_t>(std::ceil(position - reach)));
    const auto last =
        std::min(received - 1, static_cast<std::int64_t>(std::floor(position + reach)));
    float sum = 0.0F;
    const double step = rate * kStepsPerUnit;
    for (std::int64_t i = first; i <= last; ++i) {
      const double place = std::abs(static_cast<double>(i) - position) * step;
      const auto cell = static_cast<std::size_t>(place);
      const auto part = static_cast<float>(place - static_cast<double>(cell));
      const float weight = table[cell] + part * (table[cell + 1] - table[cell]);
      sum += weight * buffer[static_cast<std::size_t>(i - buffer_start)];
    }
    return sum * static_cast<float>(rate);
  }

  void produce(std::vector<float>& out, bool last_call) {
    for (;;) {
      const double time = speed.time_at(revolution_of(produced)).value;
      const double position = time * sample_rate;
      const double rate = local_rate(time);
      const double needed = last_call ? position : position + kHalfWidth / rate;
      if (needed > static_cast<double>(received - 1)) break;
      out.push_back(interpolate(position, rate));
      ++produced;
    }
    forget();
  }

  void forget() {
    const double time = speed.time_at(revolution_of(produced)).value;
    const double reach = kHalfWidth / local_rate(time);
    // The speed may fall before the next sample; a second's worth of slack covers it cheaply.
    const auto keep_from = static_cast<std::int64_t>(time * sample_rate - 2.0 * reach) - 1;
    const std::int64_t drop = std::min(keep_from, received) - buffer_start;
    if (drop < static_cast<std::int64_t>(buffer.size() / 2)) return;
    buffer.erase(buffer.begin(), buffer.begin() + static_cast<std::ptrdiff_t>(drop));
    buffer_start += drop;
  }
};

AngleResampler::AngleResampler(SpeedCurve speed, double sample_rate, double samples_per_rev)
    : state_(
          std::make_unique<State>(State{std::move(speed), sample_rate, samples_per_rev, 0.0, {}})) {
  state_->first_revolution = state_->speed.revolutions_at(Seconds(0.0));
}
AngleResampler::~AngleResampler() = default;
AngleResampler::AngleResampler(AngleResampler&&) noexcept = default;
AngleResampler& AngleResampler::operator=(AngleResampler&&) noexcept = default;

void AngleResampler::push(std::span<const float> samples, std::vector<float>& out) {
  state_->buffer.insert(state_->buffer.end(), samples.begin(), samples.end());
  state_->received += static_cast<std::int64_t>(samples.size());
  state_->produce(out, false);
}

void AngleResampler::finish(std::vector<float>& out) { state_->produce(out, true); }

double AngleResampler::first_revolution() const { return state_->first_revolution; }

double samples_per_revolution(double highest_order) {
  // 0.75 of the half rate must reach the highest order; multiples of 40 factor into 2 and 5.
  return 40.0 * std::ceil(highest_order * 2.0 / 0.75 / 40.0);
}

namespace {

/// What the parameters come to in samples of equal angle.
struct AngleBlocks {
  double per_revolution;
  std::size_t length;
  std::size_t hop;
  std::vector<double> window;
};

AngleBlocks angle_blocks(const OrderMapParameters& q) {
  const double per_revolution = samples_per_revolution(q.highest_order);
  const auto half = static_cast<std::size_t>(std::llround(q.revolutions * per_revolution / 2.0));
  const auto hop = static_cast<std::size_t>(std::llround(q.hop_revolutions * per_revolution));
  return {per_revolution, 2 * half, std::max<std::size_t>(1, hop), make_window(q.window, 2 * half)};
}

float tone_scale(const std::vector<double>& window) {
  double sum = 0.0;
  for (const double w : window) sum += w;
  return static_cast<float>(2.0 / (sum * sum));
}

}  // namespace

struct OrderMap::State {
  SpeedCurve speed;
  std::function<void(const OrderColumn&)> take_column;
  AngleBlocks blocks;
  AngleResampler resampler;
  RealFft fft;
  std::vector<float> window;
  float scale;
  std::vector<float> angle_samples;
  std::vector<float> power;
  std::int64_t columns = 0;
  std::size_t unused = 0;  ///< samples yet to come that no block covers, where the hop is longer

  static constexpr std::size_t kBatch = 16;

  void emit(std::span<const float> column) {
    const double half = 0.5 * static_cast<double>(blocks.length) / blocks.per_revolution;
    const double start = static_cast<double>(columns) * static_cast<double>(blocks.hop);
    const double centre = resampler.first_revolution() + start / blocks.per_revolution + half;
    const double from = speed.time_at(centre - half).value;
    const double to = speed.time_at(centre + half).value;
    take_column({speed.time_at(centre), Rpm(60.0 * 2.0 * half / (to - from)), 2.0 * half, column});
    ++columns;
  }

  void drop_unused() {
    const std::size_t drop = std::min(unused, angle_samples.size());
    angle_samples.erase(angle_samples.begin(),
                        angle_samples.begin() + static_cast<std::ptrdiff_t>(drop));
    unused -= drop;
  }

  /// Transforms the whole blocks at the front of `angle_samples` while there are `at_least` of
  /// them.
  void drain(std::size_t at_least) {
    drop_unused();
    while (angle_samples.size() >= blocks.length) {
      const std::size_t ready =
          std::min(kBatch, (angle_samples.size() - blocks.length) / blocks.hop + 1);
      if (ready < at_least) return;
      power.resize(ready * fft.bins());
      fft.power(angle_samples, blocks.hop, ready, window, power);
      for (float& p : power) p *= scale;
      for (std::size_t c = 0; c < ready; ++c) {
        const std::span<float> column = std::span(power).subspan(c * fft.bins(), fft.bins());
        column.front() *= 0.5F;
        column.back() *= 0.5F;
        emit(column);
      }
      unused = ready * blocks.hop;
      drop_unused();
    }
  }
};

OrderMap::OrderMap(SpeedCurve speed, double sample_rate, OrderMapParameters parameters,
                   std::function<void(const OrderColumn&)> take_column) {
  AngleBlocks blocks = angle_blocks(parameters);
  AngleResampler resampler(speed, sample_rate, blocks.per_revolution);
  RealFft fft(blocks.length);
  std::vector<float> window(blocks.window.begin(), blocks.window.end());
  const float scale = tone_scale(blocks.window);
  state_ = std::make_unique<State>(State{std::move(speed),
                                         std::move(take_column),
                                         std::move(blocks),
                                         std::move(resampler),
                                         std::move(fft),
                                         std::move(window),
                                         scale,
                                         {},
                                         {}});
}
OrderMap::~OrderMap() = default;
OrderMap::OrderMap(OrderMap&&) noexcept = default;
OrderMap& OrderMap::operator=(OrderMap&&) noexcept = default;

void OrderMap::push(std::span<const float> samples) {
  state_->resampler.push(samples, state_->angle_samples);
  state_->drain(State::kBatch);
}

void OrderMap::finish() {
  state_->resampler.finish(state_->angle_samples);
  state_->drain(1);
}

double OrderMap::spacing() const {
  return state_->blocks.per_revolution / static_cast<double>(state_->blocks.length);
}

struct OrderSpectrum::State {
  AngleBlocks blocks;
  WindowKind window;
  TimeSpans left_out;
  std::vector<double> sum;
  std::size_t columns = 0;
  std::optional<OrderMap> map;

  void add(const OrderColumn& column) {
    const double half = 30.0 * column.revolutions_per_block / column.speed.value;
    if (reaches_into(left_out, column.time.value - half, column.time.value + half)) return;
    sum.resize(column.power.size(), 0.0);
    for (std::size_t k = 0; k < sum.size(); ++k) sum[k] += static_cast<double>(column.power[k]);
    ++columns;
  }
};

OrderSpectrum::OrderSpectrum(SpeedCurve speed, double sample_rate, OrderMapParameters parameters,
                             TimeSpans left_out)
    : state_(std::make_unique<State>(
          State{angle_blocks(parameters), parameters.window, std::move(left_out), {}, 0, {}})) {
  State* const state = state_.get();
  state_->map.emplace(std::move(speed), sample_rate, parameters,
                      [state](const OrderColumn& column) { state->add(column); });
}
OrderSpectrum::~OrderSpectrum() = default;
OrderSpectrum::OrderSpectrum(OrderSpectrum&&) noexcept = default;
OrderSpectrum& OrderSpectrum::operator=(OrderSpectrum&&) noexcept = default;

void OrderSpectrum::push(std::span<const float> samples) { state_->map->push(samples); }

PowerSpectrum OrderSpectrum::finish() {
  state_->map->finish();
  PowerSpectrum spectrum;
  spectrum.spacing = state_->map->spacing();
  spectrum.window = state_->window;
  spectrum.noise_bandwidth_bins = window_figures(state_->blocks.window).noise_bandwidth_bins;
  if (state_->columns == 0) return spectrum;
  spectrum.effective_averages =
      effective_averages(state_->blocks.window, state_->blocks.hop, state_->columns);
  spectrum.power = state_->sum;
  for (double& p : spectrum.power) p /= static_cast<double>(state_->columns);
  return spectrum;
}

PowerSpectrum order_spectrum(std::span<const float> samples, double sample_rate,
                             const SpeedCurve& speed, const OrderMapParameters& parameters) {
  OrderSpectrum spectrum(speed, sample_rate, parameters);
  spectrum.push(samples);
  return spectrum.finish();
}

}  // namespace howl
