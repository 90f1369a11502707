#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

struct BandProposal {
  SuspectBand band;
  /// Speeds (rpm) outside which the band means nothing: for a tone in Hz seen at few speeds.
  std::optional<Interval> speeds;
  std::vector<std::string> takes;  ///< in which the tone was heard
};

/// The band around the tone that howls most prominently: the largest excess of tone-to-noise ratio
/// over its ECMA-418-1 limit, combustion, mains hum, the probe's own resonances and sidebands of a
/// carrier that is heard set aside. None when no tone is left. `tones` sorted, most important
/// first.
std::optional<BandProposal> propose_band(const std::vector<ToneResult>& tones);

/// Whether a tone can be the howl that somebody complains of: no combustion, nothing doubtful, no
/// sideband of a carrier that is heard.
bool can_be_the_howl(const ToneResult& tone);

/// The most important of them; null where there is none.
const ToneResult* first_howl(const std::vector<ToneResult>& tones);

/// The tone by which the band is known: the first in the list of tones that lies in it and can be
/// the howl; where nobody else's does, a firing order, under which something may hide; null where
/// there is none.
const ToneResult* tone_in_band(const std::vector<ToneResult>& tones,
                               const AnalysisRequest::Band& band);

}  // namespace howl
