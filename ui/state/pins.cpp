#include "ui/state/pins.h"

#include <algorithm>
#include <utility>

#include "src/errors.h"
#include "ui/state/desk.h"
#include "ui/state/shown_sound.h"

namespace howl::desk {
namespace {

constexpr std::size_t kMostUndone = 50;
constexpr std::size_t kMostPins = 200;

/// What the cursor reads, in the unit of the plot that is shown.
struct CursorPlace {
  double time_s{};
  double frequency_hz{};
  std::optional<double> order;  ///< none where the speed is not known
};

std::optional<CursorPlace> cursor_place(const SoundView& view, const TakeSound* sound) {
  if (sound == nullptr || !view.cursor_s || !view.cursor_hz) return std::nullopt;
  CursorPlace place{std::max(0.0, *view.cursor_s), std::max(0.0, *view.cursor_hz), std::nullopt};
  if (const auto rpm = rpm_at(*sound, place.time_s)) place.order = 60 * place.frequency_hz / *rpm;
  return place;
}

/// Cut at a whole character.
std::string shortened(std::string text) {
  if (text.size() <= PinnedNote::longest) return text;
  std::size_t end = PinnedNote::longest;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  text.resize(end);
  return text;
}

}  // namespace

std::vector<std::size_t> shown_pins(const DeskState& state) {
  std::vector<std::size_t> shown;
  if (!state.opened || state.view.pins_hidden || !state.view.selection.take) return shown;
  for (std::size_t i = 0; i < state.opened->pins.size(); ++i)
    if (state.opened->pins[i].take == *state.view.selection.take) shown.push_back(i);
  return shown;
}

bool writes_pin(const DeskState& state) {
  const auto& pin = state.view.pin;
  return state.opened && pin && *pin < state.opened->pins.size() &&
         state.opened->pins[*pin].take == state.view.selection.take;
}

std::optional<std::size_t> pin_after(const DeskState& state, std::optional<std::size_t> pin) {
  const std::vector<std::size_t> shown = shown_pins(state);
  if (shown.empty()) return std::nullopt;
  const auto next = pin ? std::ranges::upper_bound(shown, *pin) : shown.begin();
  return next == shown.end() ? shown.front() : *next;
}

/// Writes them beside the case. Where that fails, it is told and nothing is changed.
bool Desk::keep_pins(std::vector<PinnedNote> pins) {
  OpenedCase& opened = *state_.opened;
  if (pins == opened.pins) return true;
  if (opened.pins_problem) {  // what is there is not ours to throw away
    tell(*opened.pins_problem);
    return false;
  }
  try {
    save_pinned_notes(opened.folder, pins);
  } catch (const Error& error) {
    tell(error);
    return false;
  }
  opened.pins_before.push_back(std::exchange(opened.pins, std::move(pins)));
  if (opened.pins_before.size() > kMostUndone) opened.pins_before.erase(opened.pins_before.begin());
  return true;
}

void Desk::act(const PinHere& /*wish*/) {
  const auto& take = state_.view.selection.take;
  if (!state_.opened || !take || state_.opened->pins.size() >= kMostPins) return;
  const auto sound = sounds_.find(*take);
  const auto place = cursor_place(state_.view.sound, sound.get());
  if (!place) return;
  PinnedNote note{*take, place->time_s, place->frequency_hz, std::nullopt, ""};
  if (shows_orders(state_, *sound)) {
    if (!place->order) return;  // no row of that plot can be told there
    note.frequency_hz.reset();
    note.order = place->order;
  }
  std::vector<PinnedNote> pins = state_.opened->pins;
  pins.push_back(note);
  if (!keep_pins(std::move(pins))) return;
  state_.view.pins_hidden = false;
  act(PickPin{state_.opened->pins.size() - 1, true});
}

void Desk::act(const PickPin& wish) {
  // What was typed is not lost because something else was pressed.
  if (state_.view.pin && state_.view.pin_draft && state_.view.pin != wish.index)
    act(WritePin{*state_.view.pin, *state_.view.pin_draft});
  const bool there = state_.opened && wish.index && *wish.index < state_.opened->pins.size();
  state_.view.pin = there ? wish.index : std::nullopt;
  state_.view.write_pin = there && wish.write;
}

void Desk::act(const MovePin& wish) {
  if (!state_.opened || wish.index >= state_.opened->pins.size()) return;
  std::vector<PinnedNote> pins = state_.opened->pins;
  PinnedNote& note = pins[wish.index];
  note.time_s = std::max(0.0, wish.time_s);
  (note.order ? note.order : note.frequency_hz) = std::max(0.0, wish.value);
  keep_pins(std::move(pins));
}

void Desk::act(const MovePinHere& /*wish*/) {
  const auto& pin = state_.view.pin;
  const auto& take = state_.view.selection.take;
  if (!state_.opened || !pin || !take) return;
  const PinnedNote& note = state_.opened->pins[*pin];
  const auto place = cursor_place(state_.view.sound, sounds_.find(*take).get());
  if (!place || note.take != *take || (note.order && !place->order)) return;
  act(MovePin{*pin, place->time_s, note.order ? *place->order : place->frequency_hz});
}

void Desk::act(const TypePin& wish) { state_.view.pin_draft = wish.text; }

void Desk::act(const WritePin& wish) {
  state_.view.pin_draft.reset();
  if (!state_.opened || wish.index >= state_.opened->pins.size()) return;
  std::vector<PinnedNote> pins = state_.opened->pins;
  pins[wish.index].text = shortened(wish.text);
  keep_pins(std::move(pins));
}

void Desk::act(const DropPin& wish) {
  if (!state_.opened || wish.index >= state_.opened->pins.size()) return;
  std::vector<PinnedNote> pins = state_.opened->pins;
  state_.view.pin_draft.reset();
  pins.erase(pins.begin() + static_cast<std::ptrdiff_t>(wish.index));
  if (keep_pins(std::move(pins))) act(PickPin{});
}

void Desk::act(const ShowPins& wish) {
  state_.view.pins_hidden = !wish.on;
  if (!wish.on) act(PickPin{});
}

void Desk::act(const UndoPins& /*wish*/) {
  if (!state_.opened || state_.opened->pins_before.empty()) return;
  OpenedCase& opened = *state_.opened;
  const std::vector<PinnedNote> before = opened.pins_before.back();
  if (!keep_pins(before)) return;
  opened.pins_before.resize(opened.pins_before.size() - 2);  // itself, and what it took back
  act(PickPin{});
}

}  // namespace howl::desk
