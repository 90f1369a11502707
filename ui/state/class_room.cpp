#include "ui/state/desk.h"
#include "ui/state/shown_sound.h"

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
  if (!sound || !view.cursor_s || !view.cursor_hz) return;
  if (const auto rpm = rpm_at(*sound, *view.cursor_s))
    state_.view.read_order = 60 * *view.cursor_hz / *rpm;
}

}  // namespace howl::desk
