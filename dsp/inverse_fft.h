#pragma once

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

#include "dsp/fft.h"

namespace howl {

/// Back from the spectra that RealFft gives to real frames:
/// x[n] = 1/size Σ X[k]·exp(+2πi·kn/size), the upper half of X being the lower one's mirror image.
///
/// One forward transform of the real sequence Re X + Im X does it: with F its transform,
/// x[n] = (Re F[n] + Im F[n])/size (discrete Hartley transform, Bracewell 1983, JOSA 73).
///
/// Not thread-safe: one object a thread.
class InverseRealFft {
 public:
  /// As for RealFft.
  explicit InverseRealFft(std::size_t size) : forward_(size) {}

  std::size_t size() const { return forward_.size(); }
  std::size_t bins() const { return forward_.bins(); }

  /// `spectra`: frames × bins() values; `out`: frames × size(). Imaginary parts of the first and
  /// last line are left out, as a real frame has none.
  void transform(std::span<const std::complex<float>> spectra, std::size_t frames,
                 std::span<float> out);

 private:
  RealFft forward_;
  std::vector<float> hartley_;
  std::vector<float> ones_;
  std::vector<std::complex<float>> transformed_;
};

}  // namespace howl
