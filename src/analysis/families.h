#pragma once

#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/half_order_ruler.h"
#include "src/analysis/take_audio.h"

namespace howl {

struct FamilySearch {
  /// Chance, per case, that tones which have nothing to do with one another give any family.
  double false_alarm{0.01};
  std::size_t most_tones{60};  ///< of one kind; the most important ones are searched
};

/// The family that a tone belongs to; null where it has none, or the engine's firing.
const FamilyResult* family_of(const ToneResult& tone, const std::vector<FamilyResult>& families);
/// A tone's part in a family; null where it has none.
const FamilyResult::Member* member_of(const FamilyResult& family, const ToneResult& tone);

/// Collects tones into families by dsp/tone_families.h, the engine's own set aside: speed-locked
/// tones by their orders, others by their frequencies, always compared where both are heard at the
/// same moments, so that errors of speed and the slip of a common belt cancel. Half and whole
/// orders are the grid on which crank-driven tones lie without relation, and the sideband spacings
/// that are expected. The tones left over are searched take by take, with the same grid where the
/// take's own half orders say where it lies (`rulers`, by place in the list of takes).
///
/// Sets `family` and `sideband` of the tones, which need ids. Undetermined harmonics of settled
/// tones, found in one take, share the behaviour of those if they all agree; not that of firing
/// orders where they are prominent or stronger than their neighbours there let one expect.
std::vector<FamilyResult> collect_families(std::vector<ToneResult>& tones,
                                           const std::vector<TakeAudio>& takes,
                                           const FamilySearch& search = {},
                                           const HalfOrderRulers& rulers = {});

}  // namespace howl
