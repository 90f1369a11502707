#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "dsp/pitch_law.h"
#include "dsp/statistics.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// A tone as one take shows it: a line in a hold's spectrum, or a ridge followed through a sweep.
struct Sighting {
  std::size_t take{};              ///< place in the list of takes
  bool followed{};                 ///< through changing speed; else a line of a hold
  std::vector<PitchPoint> points;  ///< one for a hold
  Interval frequency_hz;
  Interval rpm;
  double level_db{};          ///< of the tone, re full-scale sine
  double tone_to_noise_db{};  ///< by ECMA-418-1 for holds; for sweeps the tone's mean power over
                              ///< the mean noise density times the critical bandwidth
  double limit_db{};          ///< tone-to-noise ratio from which it is prominent there
  bool prominent{};
  double seconds{};  ///< for how long it was seen
};

struct TakeSurvey {
  std::vector<Sighting> sightings;  ///< strongest (tone-to-noise over limit) first
  std::vector<std::string> warnings;
};

/// Finds the tones of one take. A hold: lines of the averaged spectrum (in Hz and, where the speed
/// was measured along the take, in orders as well). A sweep: ridges through a spectrogram and
/// through an order map, so that tones of either kind are in focus in one of the two, with the
/// better focused copy kept. Looks from 40 Hz to the lower of 10 kHz and 0.45 of the sample rate.
TakeSurvey survey_take(const TakeAudio& take, std::size_t index);

}  // namespace howl
