#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "dsp/pitch_law.h"
#include "src/analysis/take_survey.h"

namespace howl {

/// A tone followed over one sweep or over several takes, with what its pitch says.
struct ToneTrack {
  std::vector<Sighting> sightings;
  PitchVerdict verdict;
  std::string remark{};  ///< what speaks against its being the howl; mostly empty

  std::vector<PitchPoint> points() const;
};

struct LinkParameters {
  PitchLawParameters law;
  /// Chance that a hold shows a tone that is there, when several holds are compared.
  double chance_seen{0.7};
  /// Scatter of ln f from hold to hold that is allowed beyond the speed's error: slip, for orders;
  /// the width of a resonance, for fixed pitch.
  double slip_sigma{0.004};
  double fixed_sigma{0.002};
};

/// Joins the sightings of all takes to tracks.
///
/// Ridges through sweeps are judged by themselves, and sightings elsewhere that agree with a
/// verdict join it. What remains of the holds is joined under the law (locked, fixed, road) that
/// explains most holds, and only when a chance match is `law.odds` times less likely than the law,
/// counting how many candidates were tried and how densely tones of like strength lie; and when no
/// other law explains the same tone about as well. All the rest stays alone and undetermined.
std::vector<ToneTrack> link_tracks(std::vector<Sighting> sightings,
                                   const LinkParameters& parameters = {});

}  // namespace howl
