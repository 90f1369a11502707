#pragma once

#include "dsp/spectrum.h"
#include "dsp/units.h"

namespace howl {

/// Frequency weightings of IEC 61672-1:2013 in their analytic form (Annex E), 0 dB at 1 kHz. Tables
/// of the standard hold at exact base-10 frequencies (15 848.9 Hz for "16 kHz", see
/// third_octave.h).
enum class Weighting { a, c, z };

/// Factor on a mean square; 0 at 0 Hz for A and C. `frequency` ≥ 0.
double weighting_factor(Weighting weighting, Hertz frequency);
/// The same in dB; `frequency` > 0.
Decibel weighting_level(Weighting weighting, Hertz frequency);

/// A spectrum in Hz with every line weighted.
PowerSpectrum weighted(PowerSpectrum spectrum, Weighting weighting);

/// Time weightings F and S of IEC 61672-1: exponential averages.
enum class TimeWeighting { fast, slow };
Seconds time_constant(TimeWeighting weighting);
/// Highest reading of a tone burst of this length, re the steady tone (IEC 61672-1:2013
/// Table 4).
Decibel tone_burst_response(TimeWeighting weighting, Seconds burst);

}  // namespace howl
