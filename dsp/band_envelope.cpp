#include "dsp/band_envelope.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <numeric>
#include <stdexcept>
#include <utility>

#include "dsp/window.h"

namespace howl {

namespace {

constexpr double kTransition = 0.3;    // of the band's width
constexpr double kRatePerWidth = 2.7;  // more than twice width and transition

/// Taps of the band pass for positive frequencies, centre in the middle, gain 2.
/// Length and shape by Kaiser 1974 (Oppenheim and Schafer, Discrete-Time Signal Processing 3e,
/// eqs. 7.75, 7.76).
std::vector<std::complex<double>> band_pass(double sample_rate, Interval band, double attenuation) {
  const double centre = 2.0 * std::numbers::pi * 0.5 * (band.low + band.high) / sample_rate;
  const double cutoff = std::numbers::pi * band.width() / sample_rate;
  const double transition = 2.0 * std::numbers::pi * kTransition * band.width() / sample_rate;
  const auto half =
      static_cast<std::size_t>(std::ceil(0.5 * (attenuation - 7.95) / (2.285 * transition)));
  const double beta = 0.1102 * (attenuation - 8.7);
  const std::vector<double> window = make_kaiser_window(beta / std::numbers::pi, 2 * half);
  std::vector<std::complex<double>> taps(2 * half + 1);
  double sum = 0.0;
  for (std::size_t i = 0; i < taps.size(); ++i) {
    const double n = static_cast<double>(i) - static_cast<double>(half);
    const double sinc =
        n == 0.0 ? cutoff / std::numbers::pi : std::sin(cutoff * n) / (std::numbers::pi * n);
    const double weight = sinc * window[i < window.size() ? i : 0];
    sum += weight;
    taps[i] = weight * std::polar(1.0, centre * n);
  }
  for (std::complex<double>& tap : taps) tap *= 2.0 / sum;
  return taps;
}

/// Σ a·b over equally long spans, in eight partial sums that a processor adds side by side.
float dot(std::span<const float> a, std::span<const float> b) {
  constexpr std::size_t lanes = 8;
  std::array<float, lanes> sums{};
  // Plain pointers: checked access would keep the compiler from adding side by side.
  const float* x = a.data();
  const float* y = b.data();
  float* const partial = sums.data();
  std::size_t left = a.size();
  for (; left >= lanes; left -= lanes, x += lanes, y += lanes)
    for (std::size_t j = 0; j < lanes; ++j) partial[j] += x[j] * y[j];
  float sum = std::accumulate(sums.begin(), sums.end(), 0.0F);
  for (; left > 0; --left) sum += *x++ * *y++;
  return sum;
}

/// Taps in the order of the samples that they weigh: h[n] meets x[m − n].
struct Taps {
  std::vector<float> real;
  std::vector<float> imag;

  explicit Taps(const std::vector<std::complex<double>>& filter) {
    for (auto tap = filter.rbegin(); tap != filter.rend(); ++tap) {
      real.push_back(static_cast<float>(tap->real()));
      imag.push_back(static_cast<float>(tap->imag()));
    }
  }
};

}  // namespace

struct BandEnvelope::State {
  double sample_rate;
  Taps taps;
  std::int64_t decimation;
  std::vector<float> buffer;  // audio from sample `buffer_start` on
  std::int64_t buffer_start = 0;
  std::int64_t produced = 0;

  std::int64_t half() const { return static_cast<std::int64_t>(taps.real.size() / 2); }
  std::int64_t received() const { return buffer_start + static_cast<std::int64_t>(buffer.size()); }

  std::complex<float> filtered(std::int64_t centre) const {
    const std::int64_t first = std::max(centre - half(), buffer_start);
    const std::int64_t last = std::min(centre + half(), received() - 1);
    const auto count = static_cast<std::size_t>(last - first + 1);
    const auto skipped = static_cast<std::size_t>(first - (centre - half()));
    const auto audio =
        std::span(buffer).subspan(static_cast<std::size_t>(first - buffer_start), count);
    return {dot(audio, std::span(taps.real).subspan(skipped, count)),
            dot(audio, std::span(taps.imag).subspan(skipped, count))};
  }

  void produce(std::vector<std::complex<float>>& out, std::int64_t reach) {
    for (; produced * decimation + reach < received(); ++produced)
      out.push_back(filtered(produced * decimation));
    const std::int64_t done = produced * decimation - half() - buffer_start;
    if (done < static_cast<std::int64_t>(buffer.size() / 2) || done <= 0) return;
    buffer.erase(buffer.begin(), buffer.begin() + static_cast<std::ptrdiff_t>(done));
    buffer_start += done;
  }
};

BandEnvelope::BandEnvelope(double sample_rate, Interval band_hz, double attenuation_db) {
  const double width = band_hz.width();
  const double margin = 0.5 * kTransition * width;
  if (!(width > 0.0) || band_hz.low - margin < 0.0 || band_hz.high + margin > 0.5 * sample_rate)
    throw std::invalid_argument("envelope: the band must lie between 0 and half the sample rate");
  if (attenuation_db < 50.0) throw std::invalid_argument("envelope: attenuation below 50 dB");
  const auto decimation = std::max<std::int64_t>(
      1, static_cast<std::int64_t>(std::floor(sample_rate / (kRatePerWidth * width))));
  state_ = std::make_unique<State>(
      State{sample_rate, Taps(band_pass(sample_rate, band_hz, attenuation_db)), decimation, {}});
}
BandEnvelope::~BandEnvelope() = default;
BandEnvelope::BandEnvelope(BandEnvelope&&) noexcept = default;
BandEnvelope& BandEnvelope::operator=(BandEnvelope&&) noexcept = default;

void BandEnvelope::push(std::span<const float> samples, std::vector<std::complex<float>>& out) {
  state_->buffer.insert(state_->buffer.end(), samples.begin(), samples.end());
  state_->produce(out, state_->half());
}

void BandEnvelope::finish(std::vector<std::complex<float>>& out) { state_->produce(out, 0); }

double BandEnvelope::output_rate() const {
  return state_->sample_rate / static_cast<double>(state_->decimation);
}

double BandEnvelope::gain(double hertz) const {
  const std::complex<double> turn =
      std::polar(1.0, 2.0 * std::numbers::pi * hertz / state_->sample_rate);
  std::complex<double> sum;
  // Horner's rule; taps lie in the samples' order.
  for (std::size_t i = state_->taps.real.size(); i-- > 0;)
    sum = sum * turn + std::complex<double>(state_->taps.real[i], state_->taps.imag[i]);
  return 0.5 * std::abs(sum);
}

double BandEnvelope::settling() const {
  return static_cast<double>(state_->half()) / state_->sample_rate;
}

}  // namespace howl
