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
    {"M", "spectrogram, orders, spectrum, waveform"},
    {"V, D", "keep this spectrum; difference"},
    {"F, G", "suspect band: type it, drag over it"},
    {"E", "compare with the case before a repair"},
    {"Space", "play and stop; record and stop"},
    {"L", "loop"},
    {"B", "hear all, band, tone, all but it"},
    {"S", "slower: half, quarter, as it was"},
    {"X", "switch to the other point and back"},
    {"[, ]", "softer, louder"},
    {"+, −, Down, Up", "in Record: speed; point"},
    {"Enter, A", "keep the take, record it again"},
    {"Ctrl+Z, Ctrl+Y", "undo and redo a change of the case"},
    {"Ctrl+R", "write the report as PDF"},
    {"Ctrl+C, Ctrl+S", "copy the step's table, save its picture"},
    {"Ctrl+N, Ctrl+T", "begin a case, add recordings to it"},
    {"Ctrl+E", "change what is known of the take"},
    {"Ctrl+O", "close the case, open another"},
    {"Ctrl+D, Ctrl++, Ctrl+−", "dark or light; larger, smaller"},
    {"Tab, Shift+Tab, Enter", "to the next button or plot; press it"},
    {"Plot: arrows", "move the cursor; with Shift farther"},
    {"Plot: +, −, I, K", "nearer, farther; I, K in frequency"},
    {"Plot: Ctrl+arrows", "move along"},
    {"Plot: Enter", "pick the tone there, or an order line"},
    {"Pitch: arrows", "from point to point; to another tone"},
    {"F5", "class mode; ends a quiz"},
    {"A", "in class: show or hide the answer"},
    {"O", "read the order at the cursor"},
    {"P, J, W", "pin a note, next note, write it"},
    {"Ctrl+P, Delete", "move the note to the cursor, drop it"},
    {"U, Ctrl+H", "undo with notes, hide or show them"},
    {"Ctrl+G", "quiz for a class; its next case"},
    {"F11", "whole screen"},
    {"Escape", "close what lies on top"},
    {"F1", "this list"},
    {"Ctrl+Q", "quit"},
});

Intention neighbour_take(const DeskState& state, int by) {
  const std::vector<std::string> takes = listed_takes(state);
  const auto& picked = state.view.selection.take;
  const auto at = std::ranges::find(takes, picked.value_or(""));
  if (takes.empty()) return PickTake{};
  if (at == takes.end()) return PickTake{takes.front()};
  const auto last = static_cast<std::ptrdiff_t>(takes.size()) - 1;
  const auto index = std::clamp<std::ptrdiff_t>(at - takes.begin() + by, 0, last);
  return PickTake{takes[static_cast<std::size_t>(index)]};
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
  if (key == "Ctrl+O" && state.opened) return CloseCase{};
  if (key == "Ctrl+O") return BeginSheet{.kind = SheetKind::open_case};
  if (key == "Ctrl+N") return BeginSheet{.kind = SheetKind::new_case};
  if (key == "Ctrl+T") return BeginSheet{.kind = SheetKind::add_takes};
  if (key == "Ctrl+E" && view.selection.take)
    return BeginSheet{.kind = SheetKind::change_take, .take = *view.selection.take};
  if (key == "Ctrl+Z") return Undo{};
  if (key == "Ctrl+Y" || key == "Ctrl+Shift+Z") return Redo{};
  if (key == "Ctrl+C") return CopyTable{};
  if (key == "Ctrl+S") return SavePicture{};
  if (key == "Ctrl+R") return WriteOut{HandOver::pdf};
  if (key == "Ctrl+G") return quiz_key(state);
  if (key != "Escape") return std::nullopt;
  if (view.keys_shown) return ShowKeys{false};
  if (view.mark_band || view.marking) return ArmBandMark{false};
  if (view.cautions_shown) return ShowCautions{false};
  if (!state.notices.empty()) return DismissNotice{notices_in_turn(state.notices).front()};
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
  if (key == "J") return PickPin{pin_after(state, picked)};
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

std::optional<Intention> band_or_before_key(std::string_view key, const DeskState& state) {
  if (key == "F") return BeginSheet{.kind = SheetKind::band};
  if (key == "E" && state.before_after.folder.empty())
    return BeginSheet{.kind = SheetKind::earlier_case};
  if (key == "E")
    return ShowBeforeAfter{state.view.step != Step::proof || !state.view.before_after};
  if (key == "G" && state.view.step == Step::listen) return ArmBandMark{!state.view.mark_band};
  return std::nullopt;
}

std::optional<Intention> sound_key(std::string_view key, const DeskState& state) {
  const ViewState& view = state.view;
  if (key == "Down") return neighbour_take(state, 1);
  if (key == "Up") return neighbour_take(state, -1);
  if (key == "M")
    return ShowSoundAs{static_cast<SoundPlot>((static_cast<int>(view.sound_plot) + 1) % 4)};
  if (key == "V" && view.selection.take) return CompareTake{*view.selection.take};
  if (key == "D") return ShowDifference{!view.difference};
  const double seconds = seconds_of_picked_take(state);
  if (seconds <= 0) return std::nullopt;
  if (key == "0") return SetSound{};
  if (key == "+") return SetSound{zoomed_time(view.sound, seconds, 0.6)};
  if (key == "-") return SetSound{zoomed_time(view.sound, seconds, 1 / 0.6)};
  if (key == "Left") return SetSound{moved_time(view.sound, seconds, -0.2)};
  if (key == "Right") return SetSound{moved_time(view.sound, seconds, 0.2)};
  return std::nullopt;
}

/// On the number pad, the keyboard's own digits.
std::optional<Intention> pad_key(std::string_view key, const RecordState& record) {
  std::string typed = record.typed;
  if (key == "Escape") return TypeSpeed{false, {}};
  if (key == "Enter") return TakeTypedSpeed{};
  if (key == "Backspace" || key == "Delete") {
    if (!typed.empty()) typed.pop_back();
    return TypeSpeed{true, typed};
  }
  if (key.size() == 1 && key[0] >= '0' && key[0] <= '9') return TypeSpeed{true, typed += key};
  return std::nullopt;
}

/// The one `by` places after `now`, or the nearest there is.
std::string neighbour(const std::vector<std::string>& names, const std::string& now, int by) {
  if (names.empty()) return now;
  const auto at = std::ranges::find(names, now);
  if (at == names.end()) return by > 0 ? names.front() : names.back();
  const auto last = static_cast<std::ptrdiff_t>(names.size()) - 1;
  return names[static_cast<std::size_t>(
      std::clamp<std::ptrdiff_t>(at - names.begin() + by, 0, last))];
}

/// What a sheet has a list of: layouts of vehicles, or probe points.
Intention choose_neighbour(const DeskState& state, int by) {
  const Sheet& sheet = *state.sheet;
  std::vector<std::string> names;
  if (sheet.kind == SheetKind::new_case) {
    for (const Profile& profile : list_profiles()) names.push_back(profile.name);
    return TypeInto{"profile", neighbour(names, field(sheet.typed, "profile"), by)};
  }
  if (state.opened)
    for (const ProbePoint& point : all_points(state.opened->value, state.opened->profile))
      names.push_back(point.name);
  return TypeInto{"point", neighbour(names, field(sheet.typed, "point"), by)};
}

/// The speed's kind by arrows, each load by its number.
std::optional<Intention> take_sheet_key(std::string_view key, const DeskState& state) {
  const Fields& typed = state.sheet->typed;
  if (key == "Left" || key == "Right") {
    std::vector<std::string> kinds;
    for (std::size_t i = 0; i < kSpeedEntries; ++i)
      kinds.emplace_back(speed_entry_key(static_cast<SpeedEntry>(i)));
    return TypeInto{"speed", neighbour(kinds, field(typed, "speed"), key == "Right" ? 1 : -1)};
  }
  if (key.size() != 1 || key[0] < '1' || key[0] > '9') return std::nullopt;
  auto left = static_cast<std::size_t>(key[0] - '1');
  for (const LoadTest& test : load_tests())
    if (is_test_possible(state.opened->profile, test.key) && left-- == 0) {
      const std::string name = "load." + test.key;
      return TypeInto{name, next_load_state(test, field(typed, name))};
    }
  return std::nullopt;
}

/// In a folder: Down and Up point at an entry, Enter does what pressing it would do.
std::optional<Intention> place_key(std::string_view key, const Sheet& sheet) {
  const std::vector<PlaceEntry>& entries = sheet.place.entries;
  if (key == "Backspace") return LookInto{sheet.place.folder.parent_path()};
  if (key == "Down" || key == "Up") {
    std::vector<std::string> names;
    for (const PlaceEntry& entry : entries) names.push_back(entry.name);
    return PointAtEntry{neighbour(names, sheet.pointed, key == "Down" ? 1 : -1)};
  }
  const auto pointed = std::ranges::find(entries, sheet.pointed, &PlaceEntry::name);
  if (key == "Enter" && pointed != entries.end()) return wish_of_entry(sheet, *pointed);
  if (key != "Enter" && key != "Ctrl+Enter") return std::nullopt;
  if (sheet.wanted == Wanted::sounds) return TakeChosen{};
  if (sheet.wanted == Wanted::log) return std::nullopt;
  return SubmitSheet{};
}

/// A sheet lies over the view, whose keys would do what nobody sees.
std::optional<Intention> sheet_key(std::string_view key, const DeskState& state) {
  // How everything looks is no matter of the view.
  if (key == "F1" || key == "Ctrl+D" || key == "Ctrl++" || key == "Ctrl+-" ||
      (key == "Escape" && state.view.keys_shown))
    return window_key(key, state);
  if (key == "Escape" && !state.notices.empty())
    return DismissNotice{notices_in_turn(state.notices).front()};
  if (key == "Escape") return CloseSheet{};
  if (state.sheet->wanted != Wanted::nothing) return place_key(key, *state.sheet);
  const bool of_take =
      state.sheet->kind == SheetKind::add_takes || state.sheet->kind == SheetKind::change_take;
  const bool has_list = of_take || state.sheet->kind == SheetKind::new_case;
  if (key == "Down" && has_list) return choose_neighbour(state, 1);
  if (key == "Up" && has_list) return choose_neighbour(state, -1);
  if (of_take)
    if (const auto wish = take_sheet_key(key, state)) return wish;
  if (state.sheet->kind == SheetKind::band && (key == "Left" || key == "Right"))
    return TypeInto{"unit", key == "Left" ? "hz" : "orders"};
  if (key != "Enter" && key != "Ctrl+Enter") return std::nullopt;
  return SubmitSheet{};
}

Intention neighbour_point(const DeskState& state, int by) {
  const auto points = all_points(state.opened->value, state.opened->profile);
  const auto at = std::ranges::find(points, state.record.plan.point, &ProbePoint::name);
  AdjustPlan change;
  if (points.empty()) return PlanTakes{change};
  const auto last = static_cast<std::ptrdiff_t>(points.size()) - 1;
  const std::ptrdiff_t now = at == points.end() ? -by : at - points.begin();
  const std::ptrdiff_t next = std::clamp<std::ptrdiff_t>(now + by, 0, last);
  change.point = points[static_cast<std::size_t>(next)].name;
  return PlanTakes{change};
}

std::optional<Intention> plan_key(std::string_view key, const DeskState& state) {
  const RecordState& record = state.record;
  if (key == "Space") return BeginRecording{};
  if (record.takes_shown) return std::nullopt;
  AdjustPlan change;
  if (key == "+") change.rpm = record.plan.rpm + kRpmStep;
  if (key == "-") change.rpm = record.plan.rpm - kRpmStep;
  if (change.rpm) return PlanTakes{change};
  if (key == "Down") return neighbour_point(state, 1);
  if (key == "Up") return neighbour_point(state, -1);
  return std::nullopt;
}

/// Where a take is recorded, the keys that a hand in a glove finds.
std::optional<Intention> recording_key_wish(std::string_view key, const DeskState& state) {
  const auto& running = state.record.running;
  if (!running) return plan_key(key, state);
  using Kind = ReadyAnswer::Kind;
  switch (running->phase) {
    case SessionPhase::asking:
      if (key == "Space" || key == "Enter") return AnswerStep{{.kind = Kind::record, .device = {}}};
      break;
    case SessionPhase::beginning:
    case SessionPhase::recording:
      if (key == "Space" || key == "Enter") return StopRecording{};
      break;
    case SessionPhase::judged:
      if (key == "Enter") return JudgeTake{VerdictAnswer::keep};
      if (key == "A") return JudgeTake{VerdictAnswer::again};
      break;
    case SessionPhase::judging:
    case SessionPhase::over:
      break;
  }
  return std::nullopt;
}

std::optional<Intention> listening_key(std::string_view key, const DeskState& state) {
  const ListenState& listen = state.listen;
  if (key == "Space") return PlaySound{!listen.wanted};
  if (key == "L") return LoopSound{!listen.loop};
  if (key == "B") return HearAs{next_to_hear(state)};
  if (key == "S") return SlowSound{listen.slowness == 4 ? 1 : 2 * listen.slowness};
  if (key == "X" && listen.other) return HearOther{!listen.on_other};
  if (key == "[") return SetVolume{state.settings.volume_db - kVolumeStep};
  if (key == "]") return SetVolume{state.settings.volume_db + kVolumeStep};
  return std::nullopt;
}

std::optional<Intention> wish_of_sound_plot_key(std::string_view key, SoundPart plot) {
  constexpr double nearer = 0.6;
  const bool flat = plot == SoundPart::spectrum;
  if (key == "Enter") return PickAtCursor{plot};
  if (key == "+" || key == "-") {
    const double factor = key == "+" ? nearer : 1 / nearer;
    return flat ? ZoomPlot{plot, 1, factor} : ZoomPlot{plot, factor, 1};
  }
  if (key == "I") return ZoomPlot{plot, 1, nearer};
  if (key == "K") return ZoomPlot{plot, 1, 1 / nearer};
  const bool along = key.starts_with("Ctrl+");
  const bool far = key.starts_with("Shift+");
  const std::string_view arrow = key.substr(along ? 5 : far ? 6 : 0);
  const double share = along ? 0.2 : far ? 0.1 : 0.01;
  const double across = arrow == "Right" ? share : arrow == "Left" ? -share : 0;
  const double up = flat ? 0 : arrow == "Up" ? share : arrow == "Down" ? -share : 0;
  if (across == 0 && up == 0) return std::nullopt;
  if (along) return PanPlot{plot, across, up};
  return StepCursor{plot, across, up};
}

/// From point to point of the tone whose pitch is shown, and to the tones above and below.
std::optional<Intention> wish_of_pitch_key(std::string_view key) {
  constexpr int far = 10;
  if (key == "Enter") return StepTrack{0};
  if (key == "Right") return StepTrack{1};
  if (key == "Left") return StepTrack{-1};
  if (key == "Shift+Right") return StepTrack{far};
  if (key == "Shift+Left") return StepTrack{-far};
  if (key == "Up") return StepTone{1};
  if (key == "Down") return StepTone{-1};
  return std::nullopt;
}

}  // namespace

std::span<const KeyHelp> key_list() { return kKeys; }

bool is_plot(std::string_view target) {
  return target == kMapName || target == kSpectrumName || target == kPitchName;
}

std::optional<Intention> wish_of_plot_key(std::string_view key, std::string_view plot) {
  if (plot == kPitchName) return wish_of_pitch_key(key);
  return wish_of_sound_plot_key(key, plot == kSpectrumName ? SoundPart::spectrum : SoundPart::map);
}

Intention wish_of_entry(const Sheet& sheet, const PlaceEntry& entry) {
  const auto path = sheet.place.folder / entry.name;
  if (entry.kind == PlaceEntry::Kind::file) return ChooseFile{path};
  if (entry.kind == PlaceEntry::Kind::case_folder && sheet.kind == SheetKind::open_case)
    return OpenCase{path};
  if (entry.kind == PlaceEntry::Kind::case_folder && sheet.kind == SheetKind::earlier_case)
    return CompareWith{path};
  return LookInto{path};
}

std::optional<Intention> wish_of_key(std::string_view key, const DeskState& state) {
  if (state.sheet) return sheet_key(key, state);
  // The pad lies on top of all.
  if (state.record.pad_shown && state.view.step == Step::record && !state.record.running)
    if (const auto wish = pad_key(key, state.record)) return wish;
  if (const auto wish = window_key(key, state)) return wish;
  if (state.opened == nullptr) return std::nullopt;
  if (state.view.step == Step::record || state.record.running)
    if (const auto wish = recording_key_wish(key, state)) return wish;
  if (const auto wish = step_key(key)) return wish;
  if (const auto wish = class_key(key, state)) return wish;
  if (const auto wish = pin_key(key, state)) return wish;
  if (const auto wish = listening_key(key, state)) return wish;
  if (const auto wish = answer_key(key, state)) return wish;
  if (const auto wish = band_or_before_key(key, state)) return wish;
  return sound_key(key, state);
}

}  // namespace howl::desk
