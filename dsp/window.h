#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

namespace howl {

/// Windows for spectrum estimation, periodic ("DFT-even") sampling.
/// Sources: Harris 1978, Proc. IEEE 66, Table I; Heinzel, Rüdiger, Schilling 2002, appendix C.
enum class WindowKind {
  rectangular,
  hann,
  hamming,
  blackman,
  blackman_harris,
  nuttall4c,
  sft3f,
  sft5m,
  hft70,
  hft90d,
  hft95,
  hft116d,
  hft144d,
  flat_top5,
};

/// Samples of the window, `length` of them, at most 1 at the centre for the classic windows and
/// unscaled (mean 1) for the HFT family. `length` ≥ 1.
std::vector<double> make_window(WindowKind kind, std::size_t length);

/// Kaiser window with shape `alpha` (beta = pi·alpha), periodic sampling. `alpha` ≥ 0.
std::vector<double> make_kaiser_window(double alpha, std::size_t length);

/// Equivalent noise bandwidth of a long Hann window, in lines (Harris 1978, Table I).
constexpr double kHannNoiseBins = 1.5;

/// Equivalent noise bandwidth of a sampled window, N·Σw²/(Σw)².
double noise_bandwidth_bins(std::span<const double> window);

/// The window with √2/Σw folded in: |X|² of what it is applied to is a tone's mean square, except
/// at 0 and the highest line, which have no mirror image and come out twice too large. Throws
/// std::invalid_argument as window_figures() does.
std::vector<float> tone_scaled(std::span<const double> window);

struct WindowFigures {
  double coherent_gain;         ///< mean of the samples: what a tone's amplitude is multiplied by
  double noise_bandwidth_bins;  ///< see above
  double scalloping_db;         ///< loss of a tone half a bin off, positive
  double width_3db_bins;        ///< full width of the main lobe at −3 dB
  double worst_case_loss_db;    ///< scalloping + 10 lg(noise bandwidth)
};

/// Figures of any sampled window, computed from its samples. Throws std::invalid_argument for an
/// empty window or one whose sum is 0. The width is half the circle each way for a window so short
/// that its spectrum never falls by 3 dB.
WindowFigures window_figures(std::span<const double> window);

/// Amplitude of the main lobe `bins` off its centre, relative to the centre (1 at 0), for a long
/// window of this kind; analytic (sum of Dirichlet kernels in the limit of many samples).
double main_lobe(WindowKind kind, double bins);

std::string_view window_name(WindowKind kind);

}  // namespace howl
