#pragma once

#include <cstddef>
#include <optional>

#include "dsp/spectrum.h"

namespace howl {

/// Levels of one spectrum less those of another, in dB, line by line, at one resolution.
///
/// Where both have the same spacing and window, a line is compared with its like. Else each line of
/// the coarser one stands for the band about it that is as wide as a tone spreads there (4 lines
/// for a Hann window's main lobe; Harris 1978, Table I), and the mean squares in that band are
/// compared: a tone and a noise then read alike in both. Both spectra have to outlive this.
class SpectrumDifference {
 public:
  SpectrumDifference(const PowerSpectrum& first, const PowerSpectrum& second);

  double spacing() const { return coarser_->spacing; }  ///< Hz between lines
  double resolution() const;                            ///< Hz, of what a line stands for
  std::size_t lines() const;                            ///< as far as both reach
  /// 10 lg of the mean squares' ratio; none where either is silent.
  std::optional<double> db(std::size_t line) const;

 private:
  bool alike() const;

  const PowerSpectrum* first_;
  const PowerSpectrum* second_;
  const PowerSpectrum* coarser_;
};

/// How far two levels of one sound, measured twice, lie apart at most in 95 % of cases, in dB: hand
/// and probe each time (`setting_sd_db`), and what the averages of both spectra leave open (10 lg
/// of a mean of n independent squares has a s.d. of 4.34/√n dB; Bendat & Piersol, Random Data 4e,
/// §8.5 to first order).
double unexplained_difference_db(const PowerSpectrum& first, const PowerSpectrum& second,
                                 double setting_sd_db);

}  // namespace howl
