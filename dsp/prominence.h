#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "dsp/critical_band.h"
#include "dsp/spectrum.h"
#include "dsp/units.h"

namespace howl {

/// Prominent discrete tones by ECMA-418-1:2024 (successor of ECMA-74 Annex D). The verdict is the
/// numeric criterion alone; the listening check and the hearing threshold that the standard asks
/// for as well need ears and a calibrated microphone. Spectra are in Hz and of any window.

/// Smallest tone-to-noise ratio of a prominent tone (Formulae 12, 13).
Decibel tone_to_noise_limit(Hertz tone);
/// Smallest prominence ratio of a prominent tone (Formulae 25, 26).
Decibel prominence_ratio_limit(Hertz tone);

/// The three contiguous bands of the prominence ratio (Formulae 21, 22, Tables 2 and 3). Fitted for
/// 89.1 Hz … 11.2 kHz; the end pieces are carried on outside.
struct ProminenceBands {
  FrequencyBand lower;
  FrequencyBand middle;
  FrequencyBand upper;
};
ProminenceBands prominence_bands(Hertz tone);

/// Why a ratio is, or is not, one that the standard defines.
enum class ProminenceStatus {
  standard,       ///< all conditions met
  outside_range,  ///< the tone is not within 89.1 Hz … 11.2 kHz
  too_coarse,     ///< the window's main lobe, null to null, is wider than 15 % of the critical band
                  ///< (tone-to-noise), or than the narrowest of the three bands (prominence)
  beyond_spectrum,  ///< a band that is needed reaches below the first or above the last line
  no_tone,          ///< no separate peak at that frequency
  no_noise,         ///< nothing left to compare the tone with
};
std::string_view prominence_status_name(ProminenceStatus status);  ///< "outside range" …

struct Prominence {
  ProminenceStatus status{ProminenceStatus::no_tone};
  std::optional<Decibel> ratio;  ///< with status `standard` only
  /// The same arithmetic where the standard does not vouch for it: status `outside_range` or
  /// `too_coarse`. Not comparable with any limit.
  std::optional<Decibel> indicative_ratio;
  Decibel limit{};
  bool prominent{};  ///< `ratio` is known and reaches `limit`
};

struct ToneToNoise : Prominence {
  /// Whether no louder tone shares the critical band. The standard rates the loudest one and adds
  /// to it the tones heard as one with it; a quieter tone is rated here on its own power alone.
  bool loudest_in_band{};
};

/// Tone-to-noise ratio (clause 11) of the peak within one line of `tone`. `other_tones` are the
/// tones that do not count as noise; those outside the critical band, and `tone` itself, may be
/// among them.
ToneToNoise tone_to_noise(const PowerSpectrum& spectrum, Hertz tone,
                          std::span<const Hertz> other_tones);

/// Prominence ratio (clause 12): the critical band about `tone` over its two neighbours.
Prominence prominence_ratio(const PowerSpectrum& spectrum, Hertz tone);

}  // namespace howl
