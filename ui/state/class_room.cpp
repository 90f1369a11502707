#include "ui/state/desk.h"

namespace howl::desk {

// ---- before a class ----------------------------------------------------------------------------

void Desk::act(const ShowAnswer& wish) {
  if (wish.on && state_.quiz && !state_.quiz->chosen) return;  // the class answers first
  state_.view.answer_hidden = !wish.on;
}

void Desk::act(const ReadOrderHere& /*wish*/) {
  const SoundView& view = state_.view.sound;
  const auto& take = state_.view.selection.take;
  const auto sound = take ? sounds_.find(*take) : nullptr;
  if (!sound || sound->engine_off || !view.cursor_s || !view.cursor_hz) return;
  const double rpm = sound->speed.at(Seconds(*view.cursor_s)).value;
  if (rpm > 0) state_.view.read_order = 60 * *view.cursor_hz / rpm;
}

}  // namespace howl::desk
