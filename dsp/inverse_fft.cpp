#include "dsp/inverse_fft.h"

namespace howl {

void InverseRealFft::transform(std::span<const std::complex<float>> spectra, std::size_t frames,
                               std::span<float> out) {
  const std::size_t n = size();
  const std::size_t half = n / 2;
  ones_.assign(n, 1.0F);
  hartley_.resize(frames * n);
  transformed_.resize(frames * bins());
  for (std::size_t m = 0; m < frames; ++m) {
    const auto from = spectra.subspan(m * bins(), bins());
    const auto to = std::span(hartley_).subspan(m * n, n);
    to[0] = from[0].real();
    to[half] = from[half].real();
    for (std::size_t k = 1; k < half; ++k) {
      to[k] = from[k].real() + from[k].imag();
      to[n - k] = from[k].real() - from[k].imag();
    }
  }
  forward_.transform(hartley_, n, frames, ones_, transformed_);
  const float scale = 1.0F / static_cast<float>(n);
  for (std::size_t m = 0; m < frames; ++m) {
    const auto from = std::span(transformed_).subspan(m * bins(), bins());
    const auto to = out.subspan(m * n, n);
    to[0] = scale * from[0].real();
    to[half] = scale * from[half].real();
    for (std::size_t k = 1; k < half; ++k) {
      to[k] = scale * (from[k].real() + from[k].imag());
      to[n - k] = scale * (from[k].real() - from[k].imag());
    }
  }
}

}  // namespace howl
