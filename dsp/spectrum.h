#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "dsp/statistics.h"
#include "dsp/time_spans.h"
#include "dsp/units.h"
#include "dsp/window.h"

namespace howl {

/// A one-sided averaged power spectrum over equally spaced lines.
///
/// Line k lies at k·spacing. `power[k]` is the mean square that a tone on that line would have
/// ("spectrum" scaling: a sine of amplitude A on the bin reads A²/2; Heinzel 2002 §9). Divide by
/// `noise_bandwidth()` for a density. `spacing` is in Hz, or in orders for an order spectrum.
struct PowerSpectrum {
  double spacing{};
  WindowKind window{WindowKind::hann};
  double noise_bandwidth_bins{};
  double effective_averages{};  ///< n_d: independent averages that carry the same variance
  std::vector<double> power;

  double noise_bandwidth() const { return noise_bandwidth_bins * spacing; }
  double density(std::size_t line) const { return power[line] / noise_bandwidth(); }
  double position(std::size_t line) const { return spacing * static_cast<double>(line); }
};

/// Lines first … last of a spectrum, both included.
struct LineRange {
  std::size_t first;
  std::size_t last;

  std::size_t count() const { return last - first + 1; }
  bool contains(std::size_t line) const { return first <= line && line <= last; }
};

struct WelchParameters {
  WindowKind window{WindowKind::hann};
  std::size_t length{8192};  ///< samples a block; even
  std::size_t hop{4096};     ///< samples between starts of blocks; 1…length
};

/// Averaged spectrum of a stream (Welch 1967). The audio may come in chunks of any size; the result
/// does not depend on the chunking. Throws std::invalid_argument where the parameters are outside
/// their ranges, or without a sample rate.
class WelchSpectrum {
 public:
  /// Blocks that reach into `left_out` are not averaged.
  WelchSpectrum(double sample_rate, WelchParameters parameters, TimeSpans left_out = {});
  ~WelchSpectrum();
  WelchSpectrum(WelchSpectrum&&) noexcept;
  WelchSpectrum& operator=(WelchSpectrum&&) noexcept;

  void push(std::span<const float> samples);
  std::size_t blocks() const;
  /// Blocks so far, averaged. With no whole block that counts: `power` is empty and
  /// `effective_averages` 0.
  PowerSpectrum result() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

PowerSpectrum welch_spectrum(std::span<const float> samples, double sample_rate,
                             WelchParameters parameters);

/// Effective number of independent averages of `blocks` overlapping blocks (Welch 1967):
/// n_d = K / (1 + 2 Σ (1 − m/K) ρ_m²), ρ_m the window's correlation at m hops.
double effective_averages(std::span<const double> window, std::size_t hop, std::size_t blocks);

/// Factors on an estimate that hold the true value with `confidence` (Bendat & Piersol, Random Data
/// 4e, Eq. 8.163): n/χ²(n) with n = 2·n_d.
Interval chi_square_factors(double effective_averages, double confidence);

/// Mean square between `low` and `high` (same unit as spacing). Line k stands for the stretch
/// (k ± ½)·spacing, as far as it lies between the first line and the last, and counts by the part
/// of it that the band covers; over the whole spectrum that is the mean square of the windowed
/// signal (Parseval). Only for bands wider than the window's main lobe: a tone's power spreads over
/// it. Throws std::invalid_argument for a spectrum without lines.
double band_power(const PowerSpectrum& spectrum, double low, double high);

}  // namespace howl
