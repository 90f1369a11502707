#pragma once

#include "dsp/statistics.h"

namespace howl {

/// Highest frequency for which the level that a hand-held probe shows is taken as it is; common
/// practice.
constexpr double kHandProbeLimitHz = 2000.0;

/// Between which bounds a hand-held probe may raise or lower the level at `hertz`, in dB. Up to 2
/// kHz: none.
///
/// The probe is a mass on the spring of hand and contact, which amplifies by 1/|1 − (f/f0)²|. The
/// practice of ending at 2 kHz is read as f0/3, where that is 1.02 dB, so that f0 is 6 kHz or any
/// higher frequency: above the limit the gain is between 0 dB and that of f0 = 6 kHz. From 6 kHz on
/// f0 may be met, where 5 % damping allows 20 dB, and what lies above f0 is weakened. (ISO 5348
/// asks for f0 of at least five times the highest frequency of interest, as ISO 5349-2, 6.1.2.3
/// quotes it; a hand cannot give that.)
Interval probe_gain_db(double hertz);

}  // namespace howl
