#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/time_spans.h"

namespace howl {

/// Averaged auto and cross spectra of two streams x and y that were sampled together.
///
/// Lines, scaling and averages as in PowerSpectrum. `cross` is the mean of conj(X)·Y, so that its
/// phase falls with frequency where y lags x.
struct CrossSpectrum {
  double spacing{};
  WindowKind window{WindowKind::hann};
  double noise_bandwidth_bins{};
  double effective_averages{};  ///< n_d; below 2 a coherence means nothing
  std::vector<double> x;
  std::vector<double> y;
  std::vector<std::complex<double>> cross;

  double position(std::size_t line) const { return spacing * static_cast<double>(line); }
  PowerSpectrum x_spectrum() const;
  PowerSpectrum y_spectrum() const;
};

/// Averages a CrossSpectrum from two streams (Welch 1967; Bendat & Piersol, Random Data 4e, ch.
/// 11). The audio may come in chunks of any size. Throws std::invalid_argument as WelchSpectrum
/// does, and for chunks of x and y that differ in length.
class CrossWelch {
 public:
  /// Blocks that reach into `left_out` are not averaged.
  CrossWelch(double sample_rate, WelchParameters parameters, TimeSpans left_out = {});
  ~CrossWelch();
  CrossWelch(CrossWelch&&) noexcept;
  CrossWelch& operator=(CrossWelch&&) noexcept;

  void push(std::span<const float> x, std::span<const float> y);
  /// Blocks so far, averaged. With no whole block that counts: no lines, and `effective_averages`
  /// 0.
  CrossSpectrum result() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

CrossSpectrum cross_spectrum(std::span<const float> x, std::span<const float> y, double sample_rate,
                             WelchParameters parameters);

/// Magnitude-squared coherence of every line, as estimated: 0 … 1, 0 where a stream is silent.
std::vector<double> coherence(const CrossSpectrum& spectrum);

// Of an estimate γ² from n_d independent averages (Bendat & Piersol, Random Data 4e).

/// How much too high the estimate lies: (1 − γ²)²/n_d (Eq. 9.75).
double coherence_bias(double coherence, double averages);
/// With the bias taken off; never below 0.
double unbiased_coherence(double coherence, double averages);
/// The estimate that two unrelated streams exceed with probability `alpha`: 1 − α^(1/(n_d − 1));
/// 1 for n_d ≤ 1, where any two streams look coherent.
double coherence_limit(double averages, double alpha);
/// Relative standard errors: of γ², √2·(1 − γ²)/(|γ|√n_d);
double coherence_error(double coherence, double averages);
/// of |H|, and in radians of its phase, √(1 − γ²)/(|γ|√(2 n_d)) (Eq. 9.52);
double response_error(double coherence, double averages);
/// of the coherent output power, √(2 − γ²)/(|γ|√n_d) (Eq. 9.73).
double coherent_power_error(double coherence, double averages);

/// Frequency response from x to y on one line, by H1 = Gxy/Gxx: right where the noise is in y.
struct FrequencyResponse {
  std::complex<double> value;
  double relative_error{};  ///< standard error of |H| and, in radians, of the phase
};
/// None where x is silent or nothing is coherent.
std::optional<FrequencyResponse> frequency_response(const CrossSpectrum& spectrum,
                                                    std::size_t line);

/// The part of y's spectrum that depends linearly on x: γ²·Gyy with unbiased γ².
PowerSpectrum coherent_output(const CrossSpectrum& spectrum);

}  // namespace howl
