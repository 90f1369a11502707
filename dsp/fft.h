#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <span>
#include <string_view>
#include <vector>

namespace howl {

/// So many frames, or a multiple, are well transformed together: a multiple of every path's lanes.
constexpr std::size_t kFftBatch = 32;

/// How many frames are transformed side by side, one in each lane of a vector register.
enum class FftPath { scalar, lanes4, lanes8, lanes16 };

/// The paths this processor can run, narrowest first. Always holds at least `scalar`.
std::vector<FftPath> available_fft_paths();
std::string_view fft_path_name(FftPath path);

/// Discrete Fourier transform of many equally long real frames.
///
/// `size` is even and ≥ 2; sizes with factors 2, 3 and 5 are fast. Frame m starts at sample m·hop
/// of `signal` and is multiplied by `window` (`size` values) first. Output is frame-major with
/// bins() = size/2+1 values a frame, unscaled (X[k] = Σ x[n]·w[n]·exp(−2πi·kn/size)).
///
/// Errors are below 1e-6 of the largest magnitude of the frame (2e-7 is usual), so paths agree
/// within 2e-6 of it. On one path a frame comes out the same to the last bit whatever other frames
/// are transformed with it; but several at a time, 16 or more, are what makes it fast.
///
/// Not thread-safe: one object a thread. Throws std::invalid_argument where sizes do not fit, or
/// for a path that this processor cannot run.
class RealFft {
 public:
  /// On the path that suits the size: the widest whose frames together stay in a usual second-level
  /// cache, but no narrower than 8 lanes for that.
  explicit RealFft(std::size_t size);
  RealFft(std::size_t size, FftPath path);
  ~RealFft();
  RealFft(RealFft&&) noexcept;
  RealFft& operator=(RealFft&&) noexcept;

  std::size_t size() const;
  std::size_t bins() const;
  FftPath path() const;

  void transform(std::span<const float> signal, std::size_t hop, std::size_t frames,
                 std::span<const float> window, std::span<std::complex<float>> out);
  /// |X[k]|² of the same.
  void power(std::span<const float> signal, std::size_t hop, std::size_t frames,
             std::span<const float> window, std::span<float> out);

 private:
  struct Plan;
  std::unique_ptr<Plan> plan_;
};

}  // namespace howl
