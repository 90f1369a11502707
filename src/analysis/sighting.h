#pragma once

#include <cstddef>
#include <vector>

#include "dsp/pitch_law.h"
#include "dsp/statistics.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// The part of a take's spectrum that is searched for tones.
constexpr double kLowestToneHz = 40.0;
constexpr double kHighestToneOrder = 150.0;
/// 10 kHz, or 0.45 of the sample rate where that is lower.
double highest_tone_hz(const TakeAudio& take);

/// Copies of one tone in two views of a take lie closer than this in ln f.
constexpr double kSameTone = 0.006;

/// A tone as one take shows it: a line in a hold's spectrum, or a ridge followed through a sweep.
struct Sighting {
  std::size_t take{};              ///< place in the list of takes
  bool followed{};                 ///< through changing speed; else a line of a hold
  std::vector<PitchPoint> points;  ///< one for a hold
  std::vector<double> levels_db;   ///< of each point, re full-scale sine
  Interval frequency_hz;
  Interval rpm;
  double level_db{};          ///< of the tone, re full-scale sine; energy mean of its points
  double tone_to_noise_db{};  ///< by ECMA-418-1 for holds; for sweeps the tone's mean power over
                              ///< the mean noise density times the critical bandwidth
  double limit_db{};          ///< tone-to-noise ratio from which it is prominent there
  bool prominent{};
  double seconds{};  ///< for how long it was seen
  /// A line of a hold that one part of the hold shows and another does not: a pitch that passes.
  bool passes{};
  /// A hump stands inside its range: what moves there may be orders that light it up one by one.
  bool crosses_hump{};
};

/// A point of a tone's track at a moment of a take.
PitchPoint pitch_point(const TakeAudio& take, std::size_t index, double time, double frequency_hz,
                       double sigma_hz);

/// d ln n/dt in 1/s around a moment of a take.
double speed_rate(const TakeAudio& take, double time);

/// Whether a tone-to-noise ratio makes a tone prominent; never outside the standard's range of
/// interest, 89.1 Hz to 11.2 kHz (ECMA-418-1).
bool is_prominent(double tone_to_noise_db, double limit_db, double frequency_hz);

/// Smallest power of two that is not below `samples`.
std::size_t power_of_two_from(double samples);

}  // namespace howl
