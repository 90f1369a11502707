#pragma once

#include <cstdint>
#include <span>

namespace howl {

/// What a level meter shows; samples re full scale 1.
struct MeterReading {
  double peak{};           ///< of now: rises at once, falls by 20 dB in 1.7 s
  double rms{};            ///< root of the mean square, time weighting F (IEC 61672-1: 125 ms)
  double highest{};        ///< peak since the beginning
  std::int64_t clipped{};  ///< samples at full scale or beyond since the beginning
};

/// A level meter for one channel, in constant memory. The fall of its peak is that of a digital
/// peak programme meter (IEC 60268-18, from memory). A sample counts as clipped from 32767/32768
/// on, the highest that a 16-bit converter gives. Samples that are not finite are left out.
class LevelMeter {
 public:
  explicit LevelMeter(double sample_rate);
  void push(std::span<const float> samples);
  /// Begins anew: highest and clipped.
  void forget();
  MeterReading reading() const;

 private:
  double fall_;
  double forgetting_;
  double mean_square_{};
  MeterReading reading_;
};

/// Lowest magnitude of a sample that counts as clipped.
inline constexpr float clipped_from = 32767.0F / 32768.0F;

}  // namespace howl
