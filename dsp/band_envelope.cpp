#include "dsp/band_envelope.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
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

}  // namespace

struct BandEnvelope::State {
  double sample_rate;
  std::vector<std::complex<double>> taps;  // symmetric up to conjugation
  std::int64_t decimation;
  std::vector<float> buffer;  // audio from sample `buffer_start` on
  std::int64_t buffer_start = 0;
  std::int64_t produced = 0;

  std::int64_t half() const { return static_cast<std::int64_t>(taps.size() / 2); }
  std::int64_t received() const { return buffer_start + static_cast<std::int64_t>(buffer.size()); }

  std::complex<double> filtered(std::int64_t centre) const {
    const std::int64_t first = std::max(centre - half(), buffer_start);
    const std::int64_t last = std::min(centre + half(), received() - 1);
    double real = 0.0;
    double imag = 0.0;
    const std::complex<double>* tap = taps.data() + (centre + half() - first);
    for (std::int64_t i = first; i <= last; ++i, --tap) {
      const auto x = static_cast<double>(buffer[static_cast<std::size_t>(i - buffer_start)]);
      real += x * tap->real();
      imag += x * tap->imag();
    }
    return {real, imag};
  }

  void produce(std::vector<std::complex<double>>& out, std::int64_t reach) {
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
      State{sample_rate, band_pass(sample_rate, band_hz, attenuation_db), decimation, {}});
}
BandEnvelope::~BandEnvelope() = default;
BandEnvelope::BandEnvelope(BandEnvelope&&) noexcept = default;
BandEnvelope& BandEnvelope::operator=(BandEnvelope&&) noexcept = default;

void BandEnvelope::push(std::span<const float> samples, std::vector<std::complex<double>>& out) {
  state_->buffer.insert(state_->buffer.end(), samples.begin(), samples.end());
  state_->produce(out, state_->half());
}

void BandEnvelope::finish(std::vector<std::complex<double>>& out) { state_->produce(out, 0); }

double BandEnvelope::output_rate() const {
  return state_->sample_rate / static_cast<double>(state_->decimation);
}

double BandEnvelope::settling() const {
  return static_cast<double>(state_->half()) / state_->sample_rate;
}

}  // namespace howl
