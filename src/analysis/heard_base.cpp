#include "src/analysis/heard_base.h"

#include "src/analysis/pitch_ratio.h"
#include "src/analysis/suspect_band.h"

namespace howl {

namespace {

bool may_behave_alike(const ToneResult& a, const ToneResult& b) {
  return a.behaviour == b.behaviour || a.behaviour == Behaviour::undetermined ||
         b.behaviour == Behaviour::undetermined;
}

}  // namespace

std::optional<HeardBase> heard_base(const std::vector<ToneResult>& tones, const ToneResult& howl) {
  constexpr int most = 3;
  std::optional<HeardBase> found;
  for (const ToneResult& tone : tones) {
    if (!can_be_the_howl(tone) || tone.maybe_combustion || !may_behave_alike(tone, howl)) continue;
    if (found && found->tone->level_db >= tone.level_db) continue;
    if (const auto harmonic = multiple_of(howl, tone, most)) found = HeardBase{&tone, *harmonic};
  }
  return found;
}

}  // namespace howl
