#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

namespace howl {

/// A stream at another sample rate, for playing: each new sample is the band-limited interpolation
/// of the old ones, by a sinc under a Kaiser window, 32 zero crossings to either side (Smith and
/// Gossett 1984, ICASSP, "A flexible sampling-rate conversion method"). Up to 0.84 of the lower
/// rate's half a tone keeps its level within 0.1 dB; images and aliases of such tones are 70 dB
/// down or more. Without delay; sample 0 stays sample 0. Before the first and after the last sample
/// there is silence.
class Resampler {
 public:
  using Sink = std::function<void(std::span<const float>)>;

  /// Rates above 0 in Hz, else std::invalid_argument.
  Resampler(double rate_in, double rate_out, Sink sink);

  void push(std::span<const float> samples);
  /// Makes the rest: round(samples · rate_out/rate_in) in all.
  void finish();

 private:
  void make_until(double end);
  float at(double time) const;

  double step_;     // of what came, for one of what is made
  double squeeze_;  // below 1 where the rate falls: the kernel is that much wider
  double reach_;
  Sink sink_;
  std::vector<float> kernel_;
  std::vector<float> held_;
  std::vector<float> made_;
  std::int64_t first_held_{};
  std::int64_t came_{};
  std::int64_t next_{};
};

}  // namespace howl
