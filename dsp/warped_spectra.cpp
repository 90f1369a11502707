#include "dsp/warped_spectra.h"

#include <cmath>
#include <numbers>

#include "dsp/noise_floor.h"
#include "dsp/spectrum.h"
#include "dsp/window.h"

namespace howl {

namespace {

constexpr std::size_t kSteady = kWarpRates.size() / 2;
static_assert(kWarpRates[kSteady] == 0.0);

/// Hz; wide enough that an engine's orders do not fill the neighbourhood.
constexpr double kFloorWidth = 80.0;

double sinc(double x) {
  return x == 0.0 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
}

std::vector<float> float_window(std::size_t size) {
  const std::vector<double> exact = make_window(WindowKind::hann, size);
  return {exact.begin(), exact.end()};
}

}  // namespace

/// A block is read at moments between which the crankshaft turns equal angles, if its speed grows
/// as exp(rate·t): t = ln(1 + rate·ψ)/rate.
WarpedSpectra::Warp WarpedSpectra::make_warp(double rate, double sample_rate) {
  Warp warp(block);
  const double middle = 0.5 * static_cast<double>(block);
  constexpr std::size_t first_tap = taps / 2 - 1;  // below the moment read
  for (std::size_t m = 0; m < block; ++m) {
    const double even = (static_cast<double>(m) - middle) / sample_rate;
    const double time = rate == 0.0 ? even : std::log1p(rate * even) / rate;
    const double position = time * sample_rate + middle;
    const double base = std::floor(position) - static_cast<double>(first_tap);
    warp[m].first = static_cast<std::ptrdiff_t>(base);
    for (std::size_t k = 0; k < taps; ++k) {
      const double away = base + static_cast<double>(k) - position;
      const double window = std::cos(std::numbers::pi * away / static_cast<double>(taps + 1));
      warp[m].weight[k] = static_cast<float>(sinc(away) * window * window);
    }
  }
  return warp;
}

WarpedSpectra::WarpedSpectra(double sample_rate, std::size_t lines)
    : spacing_(sample_rate / static_cast<double>(block)),
      lines_(lines),
      fft_(block),
      window_(float_window(block)),
      warped_(kWarpRates.size() * block),
      power_(kWarpRates.size() * fft_.bins()),
      over_noise_(kWarpRates.size() * lines) {
  for (const double rate : kWarpRates) warps_.push_back(make_warp(rate, sample_rate));
}

void WarpedSpectra::look_at(std::span<const float> sound) {
  for (std::size_t r = 0; r < kWarpRates.size(); ++r)
    for (std::size_t m = 0; m < block; ++m) {
      const Read& read = warps_[r][m];
      const float* const from = sound.data() + margin + read.first;
      float sum = 0.0F;
      for (std::size_t k = 0; k < taps; ++k) sum += read.weight[k] * from[k];
      warped_[r * block + m] = sum;
    }
  fft_.power(warped_, block, kWarpRates.size(), window_, power_);
  PowerSpectrum steady{spacing_, WindowKind::hann, 1.5, 1.0, {}};
  const float* const unwarped = power_.data() + kSteady * fft_.bins();
  steady.power.assign(unwarped, unwarped + lines_);
  const std::vector<double> floor = noise_floor(steady, kFloorWidth);
  for (std::size_t r = 0; r < kWarpRates.size(); ++r)
    for (std::size_t k = 0; k < lines_; ++k) {
      const auto power = static_cast<double>(power_[r * fft_.bins() + k]);
      over_noise_[r * lines_ + k] = floor[k] > 0.0 ? power / floor[k] : 0.0;
    }
}

}  // namespace howl
