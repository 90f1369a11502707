#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// Spectral kurtosis of one line from its power in `blocks` ≥ 2 blocks, given Σ|X|² and Σ|X|⁴:
/// K = ⟨|X|⁴⟩/⟨|X|²⟩² − 2 (Antoni 2006, MSSP 20, 282–307), with the factor that takes off the bias
/// for stationary Gaussian noise (Nita and Gary 2010, MNRAS 406, L60; both from memory, held by
/// draws in the tests). 0 for such noise, −1 for a steady tone, large for bursts.
double spectral_kurtosis(double sum_of_powers, double sum_of_squared_powers, double blocks);
/// Its standard deviation for stationary Gaussian noise, 2/√blocks (Antoni 2006; blocks
/// independent).
double spectral_kurtosis_sigma(double blocks);

/// Kurtosis of every line of short-time spectra with one length of block.
struct KurtosisSpectrum {
  double spacing{};  ///< Hz between lines
  double sigma{};    ///< of the kurtosis of a line, for stationary Gaussian noise
  /// Lines 0 and 1 and the last two, whose values are not all complex Gaussian, are 0.
  std::vector<double> kurtosis;
};

struct KurtogramParameters {
  double widest_spacing{1500.0};  ///< Hz; lengths are powers of two
  std::size_t lengths{4};         ///< each block twice as long as the one before
  /// Kurtosis is taken over stretches this long and averaged, so that a level that drifts more
  /// slowly does not look like bursts.
  double stretch_seconds{1.5};
  /// Blocks are compared with those of the same group only, 0 … groups − 1, by the time of their
  /// centre: for example those at like crank angle, so that what repeats with the crankshaft does
  /// not look like bursts. None: all are one group.
  std::function<std::size_t(Seconds)> group_at{};
  std::size_t groups{1};
};

/// Spectral kurtosis over several lengths of block, from a stream in bounded memory (kurtogram:
/// Antoni and Randall 2006, MSSP 20, 308–331). Hann blocks, half overlapped, of the signal
/// differenced twice: that changes no line's kurtosis, and keeps strong low tones from leaking into
/// the high lines of short blocks.
class Kurtogram {
 public:
  Kurtogram(double sample_rate, KurtogramParameters parameters);
  ~Kurtogram();
  Kurtogram(Kurtogram&&) noexcept;
  Kurtogram& operator=(Kurtogram&&) noexcept;

  void push(std::span<const float> samples);
  /// One spectrum a length, the widest lines first. A length with fewer than 32 blocks in all is
  /// left out; so are blocks of groups with fewer than 4 in a stretch.
  std::vector<KurtosisSpectrum> finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// A band whose sound comes in bursts.
struct ImpulsiveBand {
  Interval hertz;  ///< one line to either side of the line
  double kurtosis{};
  double sigma{};
  double false_alarm{};  ///< chance that noise alone does so in any of the bands looked at
};

struct ImpulsiveBandParameters {
  Interval within_hz;
  double false_alarm{0.01};
  std::size_t most{3};
};

/// The bands of highest kurtosis whose kurtosis stationary noise would reach with a chance below
/// `false_alarm` anywhere among all bands looked at (Pearson type III, Bonferroni). Bands that
/// share more than 40 % of the narrower one with a better one are left out. Best first.
std::vector<ImpulsiveBand> impulsive_bands(std::span<const KurtosisSpectrum> kurtogram,
                                           const ImpulsiveBandParameters& parameters);

/// Bands side by side, from line to line of one kurtosis spectrum, whatever their kurtosis; their
/// chance of a false alarm is for the band alone. Blows that follow each other before the last has
/// died away swell a band and still leave it without kurtosis.
std::vector<ImpulsiveBand> side_by_side(const KurtosisSpectrum& spectrum, Interval within_hz);

}  // namespace howl
