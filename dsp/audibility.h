#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "dsp/critical_band.h"
#include "dsp/spectrum.h"
#include "dsp/units.h"

namespace howl {

/// Audibility of tones in noise by the engineering method of ISO/PAS 20065:2016 (from DIN
/// 45681:2005): by how many dB a tone rises above the masking threshold of the noise around it;
/// audible above 0.
///
/// The method is stated for A-weighted spectra in Hz with about 2 … 4 Hz between lines, and for
/// tones from 50 Hz (ISO) or 90 Hz (DIN); weight the spectrum first (dsp/weighting.h) where that
/// matters. Levels of lines are 10 lg of PowerSpectrum::power; audibility does not depend on their
/// reference.

/// Masking index a_v (Formula 13), negative.
Decibel masking_index(Hertz tone);

/// Audibility (Formulae 12 to 14) of a tone of level L_T in noise of mean narrow-band level L_S,
/// lines `spacing` apart.
Decibel audibility(Decibel tone_level, Decibel mean_line_level, Hertz tone, Hertz spacing);

struct AudibleTone {
  Hertz frequency;          ///< of the highest line
  Decibel mean_line_level;  ///< L_S: noise about the tone, per line, corrected for the window
  Decibel level;            ///< L_T
  Decibel audibility;       ///< ΔL
  std::size_t first_line;   ///< the tone's lines, both ends included
  std::size_t last_line;
  /// Narrow and steep enough for a tone (clause 5.3.4). Edge steepness as DIN 45681 Formulae 10 and
  /// 11 have it, f_T/√2 on both sides; the ISO print differs between the sides.
  bool distinct;
};

/// Rates the peak within one line of `tone` (Formulae 6 to 14, Annex D). None where there is no
/// peak, where it does not rise more than 6 dB above L_S, or where the spectrum does not hold its
/// critical band with at least five lines on each side.
std::optional<AudibleTone> rate_audibility(const PowerSpectrum& spectrum, Hertz tone);

/// Audibility of several tones heard together: the energy sum of their lines, each counted once,
/// against the noise about the most audible of them (Formula 17). `together` is not empty.
Decibel combined_audibility(const PowerSpectrum& spectrum, std::span<const AudibleTone> together);

struct TonalAudibility {
  std::vector<AudibleTone> tones;  ///< distinct and audible, most audible first
  /// Largest audibility of any tone, or of any tones combined that share the critical band of the
  /// most audible among them (clause 5.3.8). None where no tone is audible.
  std::optional<Decibel> decisive;
};

TonalAudibility tonal_audibility(const PowerSpectrum& spectrum, std::span<const Hertz> tones);

/// Energy mean of the decisive values of several spectra (Formula 20); a spectrum without an
/// audible tone counts as −10 dB (Formula 21). None where there are no spectra.
std::optional<Decibel> mean_audibility(std::span<const std::optional<Decibel>> decisive);

/// Tonal adjustment K for a mean audibility: 0, 1, 2, 3, 4, 5, 6 dB up to 0, 2, 4, 6, 9, 12 dB and
/// above. The ladder is DIN 45681's from memory; only its steps of 4 and 5 dB were checked against
/// a published example.
Decibel tonal_adjustment(Decibel mean_audibility);

}  // namespace howl
