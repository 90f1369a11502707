#pragma once

#include <cstddef>
#include <optional>
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
  /// The half order on which every sighting lies by the ruler of its take (half_order_ruler.h), as
  /// what the engine's own cycle makes does; none where one does not, or has no ruler.
  std::optional<double> half_order{};

  std::vector<PitchPoint> points() const;
};

struct LinkParameters {
  PitchLawParameters law;
  /// Tone-to-noise ratio that a hold shows in half of the cases, and the scatter of a tone's
  /// strength from speed to speed; together the chance that a hold shows a tone that another does.
  double faintest_db{-8.0};
  double strength_sd_db{5.0};
  double least_seen{0.5};
  double most_seen{0.97};
  /// Scatter of ln f from hold to hold that is allowed beyond the speed's error: slip, for orders;
  /// the width of a resonance, for fixed pitch.
  double slip_sigma{0.004};
  double fixed_sigma{0.002};
};

/// Joins the sightings of all takes to tracks.
///
/// How far a sighting may lie from a law: by its own error, the speed's, and what slip or a
/// resonance allow. Where the take's own half orders measure its speed (half_order_ruler.h), that
/// takes the place of the record's error, and a line on a half order is never joined to a
/// speed-locked tone that lies between two of them, nor the other way round: a take in which the
/// engine's line covers a tone's own does not show that tone.
///
/// Ridges through sweeps are judged by themselves, and sightings elsewhere that agree with a
/// verdict join it. What remains of the holds is joined under the law (locked, fixed, road) that
/// explains most holds, and only when its pitches and strengths are `law.odds` times likelier under
/// the law than by chance, in view of how densely tones lie there and how strong they are; and when
/// no other law explains the same tone about as well. All the rest stays alone and undetermined.
///
/// Each tone is judged by itself: that many are tried makes no tone's chance worse, because the
/// ratio of likelihoods exceeds `law.odds` by chance once in `law.odds` tones at most (Markov's
/// inequality), and beforehand a tone obeys one of the laws more likely than none.
std::vector<ToneTrack> link_tracks(std::vector<Sighting> sightings,
                                   const LinkParameters& parameters = {});

}  // namespace howl
