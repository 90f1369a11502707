#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace howl::desk {

/// Lowest and highest sample of a stretch, in 1/32767 of full scale.
struct Extent {
  std::int16_t low{};
  std::int16_t high{};
};

/// A waveform that can be looked at from any distance in the same short time: extents of stretches,
/// of twice as many samples, and so on. The shortest stretch is one sample where the sound is no
/// longer than kMostStretches, else as short as these allow: 4 MB for them, and as much for all
/// longer ones.
class Waveform {
 public:
  static constexpr std::int64_t kMostStretches = 1 << 20;

  explicit Waveform(std::int64_t expected_samples = 0);

  void push(std::span<const float> samples);
  /// No more samples come: builds the coarser levels.
  void finish();

  std::int64_t samples() const { return samples_; }
  double stretch() const { return static_cast<double>(stretch_); }  ///< the shortest, in samples
  /// Extents of `count` equal parts of `from` … `to` (samples), as exact as the stretches allow:
  /// a part covers at least one stretch. Parts that lie outside are empty (low > high).
  std::vector<Extent> parts(double from, double to, std::size_t count) const;

 private:
  Extent extent_of(const std::vector<Extent>& level, double from, double to) const;

  std::int64_t stretch_{1};
  std::vector<std::vector<Extent>> levels_{1};
  Extent open_{INT16_MAX, INT16_MIN};
  std::int64_t samples_{};
};

}  // namespace howl::desk
