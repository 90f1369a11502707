#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/units.h"

namespace howl {

/// Positions and widths are in the unit of PowerSpectrum::spacing: Hz, or orders.
struct PeakParameters {
  double lowest{0.0};
  double highest{std::numeric_limits<double>::infinity()};
  Decibel min_height{10.0};           ///< over the local noise floor, line for line; 3 dB at least
  double min_separation{0.0};         ///< of two peaks the weaker one is dropped if they are closer
  std::optional<double> floor_width;  ///< see noise_floor(); needed for spectra that are not in Hz
};

struct Peak {
  double position{};
  /// Standard deviation of `position` that noise alone gives it; see find_peaks().
  double position_sigma{};
  /// Mean square of the tone, noise taken off; of a broad peak, all of its hump.
  double power{};
  double floor_density{};  ///< of the noise about it
  Decibel above_floor{};   ///< the peak at its top over a noise line, noise taken off the peak
  /// Width at −3 dB over that of a pure tone in the same window: 1 for a pure tone.
  double relative_width{};
  double width_lines{};  ///< width at −3 dB in lines
  /// Wider than noise explains a pure tone to be: a resonance, or a pitch that wanders.
  bool broad{};
};

/// Finds peaks, lowest position first.
///
/// A peak is a local maximum that stands `min_height` over the noise floor and, over the saddles
/// towards anything higher, four standard deviations of the difference of two noise lines (10 dB at
/// most). The first and last lines, as many as the main lobe is wide on one side, cannot hold one.
///
/// Pure tones: power and position are those for which the window's main lobe fits the highest lines
/// with the floor added (least squares, weighted with the variance of each line, Gauss-Newton from
/// the ratio of the two highest lines: Grandke 1983, for any cosine-sum window). Exact without
/// noise, so that scalloping does not show.
///
/// `position_sigma` of a tone is the error of that fit, propagated with the correlation that the
/// window makes between lines. With S the tone's mean square, F the noise power of a line, L_i the
/// lobe at line i and c_ij the correlation, lines have the covariance
///   (2·S·F·L_i·L_j·c_ij + F²·c_ij²) / n_d.
/// which holds for independent blocks. No estimator can beat the bound of Rife and Boorstyn 1974:
/// with G the noise density and Δ the spacing, var(f) ≥ 3/(2π²)·(G·Δ/S)·Δ²/n_d; with a Hann window
/// the best is 2.34 times that variance. Where blocks overlap and a tone is truly steady, errors of
/// neighbouring blocks cancel and the true deviation is smaller (many Hann blocks, half overlap: a
/// third). Speed that wanders, and other tones within the lobe, are not in it. With a rectangular
/// window, whose lobe has no flank, deviation and width are rough.
///
/// Broad peaks: vertex of the parabola that fits the top 3 dB of the hump in dB (least squares);
/// `position_sigma` follows from the scatter 4.34/√n_d dB of its lines.
std::vector<Peak> find_peaks(const PowerSpectrum& spectrum, const PeakParameters& parameters);

/// Smallest standard deviation that any estimator of the position of a tone can have (Rife and
/// Boorstyn 1974), given its mean square and the density of the noise.
double least_position_sigma(const PowerSpectrum& spectrum, double power, double density);

/// The line within one of `position` that is a local maximum; none where there is no such line, or
/// where it is one of the two first or last.
std::optional<std::size_t> peak_line_near(const PowerSpectrum& spectrum, double position);

}  // namespace howl
