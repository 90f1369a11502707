#include "ui/state/keys.h"

#include <algorithm>
#include <array>

#include "ui/state/desk.h"
#include "ui/state/pins.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

constexpr auto kKeys = std::to_array<KeyHelp>({
    {"1 … 9", "go to a step"},
    {"PageDown, PageUp", "next step, step before"},
    {"N", "the next of the proposed tests"},
    {"H", "how to do the test, and its cautions"},
    {"Down, Up", "next take, take before"},
    {"T", "next tone"},
    {"Left, Right", "move through the sound"},
    {"+, −", "look nearer, from farther"},
    {"0", "the whole sound"},
    {"M", "spectrogram or order map"},
    {"V", "compare this take's spectrum"},
    {"Ctrl+O", "close the case and choose another"},
    {"Ctrl+D", "dark or light"},
    {"Ctrl++, Ctrl+−", "larger, smaller"},
    {"F5", "class mode: step by step, the answer hidden"},
    {"A", "in class: show or hide the answer"},
    {"O", "read the order at the cursor"},
    {"P", "pin a note at the cursor"},
    {"Tab, W", "next note, write it"},
    {"Ctrl+P, Delete", "move the note to the cursor, drop it"},
    {"U, Ctrl+H", "undo with notes, hide or show them"},
    {"Ctrl+G", "quiz for a class; its next case"},
    {"F11", "whole screen"},
    {"Escape", "close what lies on top"},
    {"F1", "this list"},
    {"Ctrl+Q", "quit"},
});

Intention neighbour_take(const DeskState& state, int by) {
  const auto& takes = state.opened->value.takes;
  const auto& picked = state.view.selection.take;
  const auto at = std::ranges::find(takes, picked.value_or(""), &Take::id);
  if (takes.empty()) return PickTake{};
  if (at == takes.end()) return PickTake{takes.front().id};
  const auto last = static_cast<std::ptrdiff_t>(takes.size()) - 1;
  const auto index = std::clamp<std::ptrdiff_t>(at - takes.begin() + by, 0, last);
  return PickTake{takes[static_cast<std::size_t>(index)].id};
}

Intention next_tone(const DeskState& state) {
  const auto& tones = state.answer->analysis.tones;
  const auto at = std::ranges::find(tones, state.view.selection.tone.value_or(""), &ToneResult::id);
  const bool at_end = at == tones.end() || at + 1 == tones.end();
  return PickTone{at_end ? tones.front().id : (at + 1)->id};
}

Intention quiz_key(const DeskState& state) {
  if (!state.quiz || state.quiz->over()) return StartQuiz{};
  return NextQuizCase{};
}

/// Pointing at what a class chooses, and saying so.
std::optional<Intention> choice_key(std::string_view key, const DeskState& state) {
  if (!can_choose(state) || state.view.step != Step::what) return std::nullopt;
  if (key == "Down") return PointAtChoice{1};
  if (key == "Up") return PointAtChoice{-1};
  if (key == "Enter" && state.quiz->pointed) return AnswerQuiz{*state.quiz->pointed};
  return std::nullopt;
}

std::optional<Intention> window_key(std::string_view key, const DeskState& state) {
  const ViewState& view = state.view;
  if (key == "F1") return ShowKeys{!view.keys_shown};
  if (key == "F5") return SetClassMode{!state.settings.class_mode};
  if (key == "Ctrl+D") return SetDark{!state.settings.dark};
  if (key == "Ctrl++") return SetScale{next_scale(state.settings.scale, true)};
  if (key == "Ctrl+-") return SetScale{next_scale(state.settings.scale, false)};
  if (key == "Ctrl+O") return CloseCase{};
  if (key == "Ctrl+G") return quiz_key(state);
  if (key != "Escape") return std::nullopt;
  if (view.keys_shown) return ShowKeys{false};
  if (view.cautions_shown) return ShowCautions{false};
  if (!state.notices.empty()) return DismissNotice{0};
  return std::nullopt;
}

std::optional<Intention> step_key(std::string_view key) {
  if (key == "PageDown") return GoOn{1};
  if (key == "PageUp") return GoOn{-1};
  if (key.size() == 1 && key[0] >= '1' && key[0] <= '9')
    return GoTo{kAllSteps.at(static_cast<std::size_t>(key[0] - '1'))};
  return std::nullopt;
}

std::optional<Intention> class_key(std::string_view key, const DeskState& state) {
  const bool in_class = state.settings.class_mode;
  if (const auto wish = choice_key(key, state)) return wish;
  if (key == "A" && in_class) return ShowAnswer{state.view.answer_hidden};
  if (key == "Enter" && in_class) return GoOn{1};
  if (key == "O") return ReadOrderHere{};
  return std::nullopt;
}

std::optional<Intention> pin_key(std::string_view key, const DeskState& state) {
  if (state.view.step != Step::listen) return std::nullopt;
  const auto& picked = state.view.pin;
  if (key == "P") return PinHere{};
  if (key == "U") return UndoPins{};
  if (key == "Ctrl+H") return ShowPins{state.view.pins_hidden};
  if (key == "Tab") return PickPin{pin_after(state, picked)};
  if (!picked) return std::nullopt;
  if (key == "W") return PickPin{picked, true};
  if (key == "Ctrl+P") return MovePinHere{};
  if (key == "Delete") return DropPin{*picked};
  return std::nullopt;
}

std::optional<Intention> answer_key(std::string_view key, const DeskState& state) {
  if (!state.answer) return std::nullopt;
  if (key == "N") return ShowTest{state.view.next_test + 1};
  if (key == "H") return ShowCautions{!state.view.cautions_shown};
  if (key == "T" && !state.answer->analysis.tones.empty()) return next_tone(state);
  return std::nullopt;
}

std::optional<Intention> sound_key(std::string_view key, const DeskState& state) {
  const ViewState& view = state.view;
  if (key == "Down") return neighbour_take(state, 1);
  if (key == "Up") return neighbour_take(state, -1);
  if (key == "M")
    return ShowSoundAs{view.sound_plot == SoundPlot::orders ? SoundPlot::spectrogram
                                                            : SoundPlot::orders};
  if (key == "V" && view.selection.take) return CompareTake{*view.selection.take};
  const double seconds = seconds_of_picked_take(state);
  if (seconds <= 0) return std::nullopt;
  if (key == "0") return SetSound{};
  if (key == "+") return SetSound{zoomed_time(view.sound, seconds, 0.6)};
  if (key == "-") return SetSound{zoomed_time(view.sound, seconds, 1 / 0.6)};
  if (key == "Left") return SetSound{moved_time(view.sound, seconds, -0.2)};
  if (key == "Right") return SetSound{moved_time(view.sound, seconds, 0.2)};
  return std::nullopt;
}

}  // namespace

std::span<const KeyHelp> key_list() { return kKeys; }

std::optional<Intention> wish_of_key(std::string_view key, const DeskState& state) {
  if (const auto wish = window_key(key, state)) return wish;
  if (state.opened == nullptr) return std::nullopt;
  if (const auto wish = step_key(key)) return wish;
  if (const auto wish = class_key(key, state)) return wish;
  if (const auto wish = pin_key(key, state)) return wish;
  if (const auto wish = answer_key(key, state)) return wish;
  return sound_key(key, state);
}

}  // namespace howl::desk
