#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace howl {

/// Low-passes a stream and keeps every n-th sample: what lies below 0.35 of the new rate passes
/// within 0.1 dB, and what would fold onto it is at least 70 dB down (Blackman-windowed sinc of 24
/// new samples' length). The first output belongs to input sample 0; input before it is taken as 0.
/// The output does not depend on how the input is cut into chunks.
class Decimator {
 public:
  /// `factor` ≥ 1; 1 passes everything unchanged.
  explicit Decimator(std::size_t factor);
  /// Appends to `out` what the input so far allows.
  void push(std::span<const float> samples, std::vector<float>& out);

 private:
  std::size_t factor_;
  std::vector<float> taps_;
  std::vector<float> pending_;
};

}  // namespace howl
