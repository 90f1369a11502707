#pragma once

#include "dsp/units.h"

namespace howl {

struct FrequencyBand {
  Hertz low;
  Hertz high;

  constexpr Hertz width() const { return high - low; }
  constexpr bool contains(Hertz f) const { return low <= f && f <= high; }
};

/// Width of the critical band of hearing about `tone` > 0 (ECMA-418-1:2024 Formula 2; the same in
/// ISO/PAS 20065:2016 Formula 2).
Hertz critical_bandwidth(Hertz tone);

/// Critical band as ECMA-418-1:2024 clause 10 lays it: centred up to 500 Hz (Formulae 4, 5), with
/// low·high = tone² above (Formulae 7, 8). The step of 4.4 Hz at 500 Hz is the standard's. The
/// lower edge is negative below about 50 Hz.
FrequencyBand critical_band(Hertz tone);

/// Critical band with low·high = tone² at every frequency (ISO/PAS 20065:2016 Formulae 3 to 5).
FrequencyBand geometric_critical_band(Hertz tone);

/// Spacing within which two tones of one critical band are heard as one (ECMA-418-1:2024 Formula
/// 14; ISO/PAS 20065:2016 Formula 19). Meant for tones below 1 kHz: above, all tones of a band
/// belong together.
Hertz proximity_spacing(Hertz tone);

/// Whether two tones of one critical band count as one; `stronger` is the louder of the two.
bool heard_as_one(Hertz stronger, Hertz other);

}  // namespace howl
