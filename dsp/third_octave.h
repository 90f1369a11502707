#pragma once

#include <optional>
#include <vector>

#include "dsp/critical_band.h"
#include "dsp/spectrum.h"
#include "dsp/units.h"

namespace howl {

/// Fractional-octave bands of IEC 61260-1:2014, base 10 (G = 10^0.3), reference 1 kHz.
struct OctaveBand {
  Hertz middle;
  FrequencyBand edges;
};

/// Band `index` of `bands_per_octave` ≥ 1; 0 holds 1 kHz (Formulae 2 to 5).
OctaveBand octave_band(int index, int bands_per_octave);

/// Third-octave band `index`: 0 is 1 kHz, −17 is 20 Hz, +13 is 20 kHz.
OctaveBand third_octave_band(int index);
/// The third-octave band that holds `frequency` > 0.
int third_octave_index(Hertz frequency);

/// Power response of the third-octave filter at `ratio` = f/f_m > 0: a Butterworth band-pass of
/// third order, −3.01 dB at the edges, inside the class 1 limits of IEC 61260-1 Table 1. White
/// noise reads 0.20 dB high (effective bandwidth π/3 of the nominal), as through any filter of this
/// kind.
double third_octave_response(double ratio);

struct ThirdOctave {
  int index;
  OctaveBand band;
  /// Through the filter. None where the band is narrower than eight noise bandwidths of the
  /// spectrum's window, or its upper edge lies beyond the last line: it cannot be told.
  std::optional<double> mean_square;
};

/// Third-octave levels first … last of a spectrum in Hz.
std::vector<ThirdOctave> third_octaves(const PowerSpectrum& spectrum, int first, int last);

}  // namespace howl
