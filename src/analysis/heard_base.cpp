#include "src/analysis/heard_base.h"

#include <cmath>

#include "src/analysis/pitch_ratio.h"
#include "src/analysis/suspect_band.h"
#include "src/analysis/tone_speed.h"

namespace howl {

namespace {

bool may_behave_alike(const ToneResult& a, const ToneResult& b) {
  return a.behaviour == b.behaviour || a.behaviour == Behaviour::undetermined ||
         b.behaviour == Behaviour::undetermined;
}

/// Every engine makes lines at its half and whole orders: one that is heard at one speed only is no
/// base.
bool may_be_a_half_order(const ToneResult& tone) {
  return tone.order_if_locked &&
         order_may_be(tone, 0.5 * std::round(2.0 * tone.order_if_locked->value));
}

bool can_be_a_base_of(const ToneResult& howl, const ToneResult& tone) {
  if (!can_be_the_howl(tone) || tone.maybe_combustion || !may_behave_alike(tone, howl))
    return false;
  if (speed_varied(howl)) return speed_varied(tone);  // it is heard along with the howl
  return !may_be_a_half_order(tone);
}

}  // namespace

std::optional<HeardBase> heard_base(const std::vector<ToneResult>& tones, const ToneResult& howl) {
  constexpr int most = 3;
  std::optional<HeardBase> found;
  for (const ToneResult& tone : tones) {
    if (!can_be_a_base_of(howl, tone)) continue;
    if (found && found->tone->level_db >= tone.level_db) continue;
    if (const auto harmonic = multiple_of(howl, tone, most)) found = HeardBase{&tone, *harmonic};
  }
  return found;
}

}  // namespace howl
