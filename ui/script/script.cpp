#include "ui/script/script.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <span>
#include <utility>

#include "src/errors.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

using Words = std::vector<std::string>;

/// Thrown while a line is read; parse_script() adds where.
struct Misread {
  std::string problem;
};

Words words_of(std::string_view line) {
  Words words;
  std::string word;
  bool quoted = false;
  bool begun = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
      begun = true;
    } else if (c == '#' && !quoted && !begun) {
      break;
    } else if ((c == ' ' || c == '\t') && !quoted) {
      if (begun) words.push_back(std::exchange(word, {}));
      begun = false;
    } else {
      word += c;
      begun = true;
    }
  }
  if (quoted) throw Misread{"a quotation mark is missing"};
  if (begun) words.push_back(word);
  return words;
}

double number(const std::string& word) {
  double value{};
  const auto [end, problem] = std::from_chars(word.data(), word.data() + word.size(), value);
  if (problem != std::errc{} || end != word.data() + word.size())
    throw Misread{"'" + word + "' is not a number"};
  return value;
}

int whole(const std::string& word) {
  const double value = number(word);
  if (value < 0 || value > 100'000 || value != static_cast<int>(value))
    throw Misread{"'" + word + "' is not a whole number"};
  return static_cast<int>(value);
}

bool on_or_off(const std::string& word) {
  if (word != "on" && word != "off") throw Misread{"'" + word + "' should be on or off"};
  return word == "on";
}

std::optional<std::string> none_or(const std::string& word) {
  return word == "none" ? std::nullopt : std::optional(word);
}

Interval range(const std::string& low, const std::string& high) {
  const Interval read{number(low), number(high)};
  if (!(read.low < read.high)) throw Misread{"the first number has to be the lower one"};
  return read;
}

Step step_named(const std::string& word) {
  if (const auto step = step_of(word)) return *step;
  throw Misread{"'" + word + "' is no step"};
}

Intention band_wish(const Words& words) {
  if (words[0] == "auto") return SetBand{};
  if (words.size() != 3) throw Misread{"a band needs hz or orders, and two numbers"};
  using Unit = AnalysisRequest::Band::Unit;
  if (words[0] != "hz" && words[0] != "orders") throw Misread{"a band is in hz or orders"};
  return SetBand{AnalysisRequest::Band{words[0] == "hz" ? Unit::hertz : Unit::order,
                                       range(words[1], words[2])}};
}

Intention zoom_wish(const Words& words) {
  SoundView view;
  const Interval shown = range(words[1], words[2]);
  if (words[0] == "time")
    view.time_s = shown;
  else if (words[0] == "hz")
    view.frequency_hz = shown;
  else if (words[0] == "order")
    view.order = shown;
  else
    throw Misread{"zoom is in time, hz or order"};
  return AdjustSound{view};
}

Intention cursor_wish(const Words& words) {
  SoundView view;
  view.cursor_s = number(words[0]);
  view.cursor_hz = number(words[1]);
  return AdjustSound{view};
}

/// They count from 1, as they are drawn.
std::size_t numbered(const std::string& word, std::string_view what) {
  const int counted = whole(word);
  if (counted == 0) throw Misread{std::string(what) + " count from 1"};
  return static_cast<std::size_t>(counted) - 1;
}
std::size_t pin_numbered(const std::string& word) { return numbered(word, "pins"); }

Intention quiz_wish(const std::string& word) {
  if (word == "next") return NextQuizCase{};
  if (word == "stop") return StopQuiz{};
  return StartQuiz{static_cast<std::uint64_t>(whole(word))};
}

SoundPart plot_of(const std::string& word) {
  if (word == "map") return SoundPart::map;
  if (word == "spectrum") return SoundPart::spectrum;
  throw Misread{"keys move in the map or the spectrum"};
}

std::optional<bool> spectrum_axis(const std::string& word) {
  if (word == "auto") return std::nullopt;
  if (word == "orders" || word == "hz") return word == "orders";
  throw Misread{"a spectrum is over hz, orders or auto"};
}

SoundPlot shown_plot(const std::string& word) {
  if (word == "spectrogram") return SoundPlot::spectrogram;
  if (word == "orders") return SoundPlot::orders;
  if (word == "spectrum") return SoundPlot::spectrum;
  if (word == "waveform") return SoundPlot::waveform;
  throw Misread{"a plot is spectrogram, orders, spectrum or waveform"};
}

HoverTarget hover_of(const Words& words) {
  HoverTarget hover{words[0]};
  if (words.size() > 2) {
    hover.across = number(words[1]);
    hover.down = number(words[2]);
  }
  return hover;
}

/// How the answer stands to the truth, in a word.
std::string check_words(const DeskState& state) {
  using Kind = AnswerCheck::Kind;
  switch (check_answer(state.answer->analysis, state.opened->truth).kind) {
    case Kind::truth_unknown:
      return "truth-unknown";
    case Kind::mended:
      return "mended";
    case Kind::no_suspect:
      return "no-suspect";
    case Kind::agrees:
      return "agrees";
    case Kind::part_agrees:
      return "part-agrees";
    case Kind::differs:
      return "differs";
  }
  return "";
}

/// "none", "1/7 asks", "1/7 answered", "over"
std::string quiz_state_words(const DeskState& state) {
  if (!state.quiz) return "none";
  if (state.quiz->over()) return "over";
  return fmt::format("{}/{} {}", state.quiz->at + 1, state.quiz->recipes.size(),
                     state.quiz->chosen  ? "answered"
                     : can_choose(state) ? "asks"
                                         : "makes");
}

HandOver hand_over_named(const std::string& word) {
  constexpr std::array<std::string_view, 4> names{"pdf", "html", "tables", "packed"};
  const auto found = std::ranges::find(names, word);
  if (found == names.end()) throw Misread{"what can be written is pdf, html, tables or packed"};
  return static_cast<HandOver>(found - names.begin());
}

Intention sheet_wish(const Words& words) {
  constexpr std::array<std::string_view, 8> names{"open-case", "new-case",    "about",
                                                  "add-takes", "change-take", "demo-cases",
                                                  "band",      "earlier-case"};
  const auto found = std::ranges::find(names, words[0]);
  if (found == names.end())
    throw Misread{
        "a sheet is open-case, new-case, about, add-takes, change-take, demo-cases, band or "
        "earlier-case"};
  BeginSheet wish{.kind = static_cast<SheetKind>(found - names.begin())};
  if (words.size() > 1 && wish.kind == SheetKind::add_takes) wish.sounds = {words[1]};
  if (words.size() > 1 && wish.kind == SheetKind::change_take) wish.take = words[1];
  return wish;
}

/// "fluid-level=low steering-fluid=right", "none"
std::string facts_words(const DeskState& state) {
  std::string words;
  if (state.opened)
    for (const WorkshopEvidence& found : state.opened->value.evidence)
      words += (words.empty() ? "" : " ") + found.key + "=" + found.value;
  return words.empty() ? "none" : words;
}

/// The name of the file written last, "none".
std::string written_words(const DeskState& state) {
  const auto& written = state.hand_over.written;
  return written.empty() ? "none" : written.front().filename().string();
}

Heard heard_named(const std::string& word) {
  constexpr std::array<std::string_view, 4> names{"take", "band", "tone", "without"};
  const auto found = std::ranges::find(names, word);
  if (found == names.end()) throw Misread{"what can be heard is take, band, tone or without"};
  return static_cast<Heard>(found - names.begin());
}

int slowness_named(const std::string& word) {
  if (word == "1" || word == "not") return 1;
  if (word == "half") return 2;
  if (word == "quarter") return 4;
  throw Misread{"slow is half, quarter or not"};
}

Intention plan_wish(const Words& words) {
  const std::string& value = words[1];
  AdjustPlan change;
  if (words[0] == "point")
    change.point = value;
  else if (words[0] == "rpm")
    change.rpm = number(value);
  else if (words[0] == "road")
    change.road_kmh = number(value);
  else if (words[0] == "speed" && (value == "entered" || value == "sound" || value == "off"))
    change.speed = value == "entered" ? SpeedKnown::entered
                   : value == "sound" ? SpeedKnown::by_sound
                                      : SpeedKnown::engine_off;
  else if (words[0] == "seconds")
    change.seconds = number(value);
  else if (words[0] == "countdown")
    change.countdown = number(value);
  else if (words[0] == "session")
    change.session = on_or_off(value);
  else if (words[0] == "hold")
    change.toggle_hold = number(value);
  else if (words[0] == "device")
    change.device = value == "usual" ? "" : value;
  else if (const auto equals = value.find('='); words[0] == "load" && equals != std::string::npos)
    change.load = {value.substr(0, equals), value.substr(equals + 1)};
  else
    throw Misread{
        "a plan has point, rpm, road, speed, seconds, countdown, session, hold, device or load"};
  return PlanTakes{change};
}

VerdictAnswer verdict_named(const std::string& word) {
  if (word == "keep") return VerdictAnswer::keep;
  if (word == "again") return VerdictAnswer::again;
  if (word == "skip") return VerdictAnswer::skip;
  if (word == "end") return VerdictAnswer::end;
  throw Misread{"a take can be judged keep, again, skip or end"};
}

Intention answer_wish(const std::string& word) {
  using Kind = ReadyAnswer::Kind;
  if (word == "record") return AnswerStep{{.kind = Kind::record, .device = {}}};
  if (word == "skip") return AnswerStep{{.kind = Kind::skip, .device = {}}};
  if (word == "end") return AnswerStep{{.kind = Kind::end, .device = {}}};
  throw Misread{"a step can be answered record, skip or end"};
}

struct Verb {
  std::string_view name;
  std::string_view usage;
  std::size_t least;
  std::size_t most;
  ScriptLine::Command (*read)(const Words&);
};

using Command = ScriptLine::Command;
Command wish(Intention intention) { return intention; }

std::span<const Verb> verbs() {
  static const std::vector<Verb> all{{
      {"open", "FOLDER", 1, 1, [](const Words& w) { return wish(OpenCase{w[0]}); }},
      {"close", "", 0, 0, [](const Words&) { return wish(CloseCase{}); }},
      {"step", "NAME", 1, 1, [](const Words& w) { return wish(GoTo{step_named(w[0])}); }},
      {"tone", "ID|none", 1, 1, [](const Words& w) { return wish(PickTone{none_or(w[0])}); }},
      {"take", "ID|none", 1, 1, [](const Words& w) { return wish(PickTake{none_or(w[0])}); }},
      {"point", "NAME|none", 1, 1, [](const Words& w) { return wish(PickPoint{none_or(w[0])}); }},
      {"compare", "TAKE", 1, 1, [](const Words& w) { return wish(CompareTake{w[0]}); }},
      {"difference", "on|off", 1, 1,
       [](const Words& w) { return wish(ShowDifference{on_or_off(w[0])}); }},
      {"spectrum", "hz|orders|auto", 1, 1,
       [](const Words& w) { return wish(ShowSpectrumOver{spectrum_axis(w[0])}); }},
      {"plot", "spectrogram|orders|spectrum|waveform", 1, 1,
       [](const Words& w) { return wish(ShowSoundAs{shown_plot(w[0])}); }},
      {"zoom", "time|hz|order LOW HIGH", 3, 3, [](const Words& w) { return wish(zoom_wish(w)); }},
      {"whole", "", 0, 0, [](const Words&) { return wish(SetSound{}); }},
      {"cursor", "SECONDS HZ", 2, 2, [](const Words& w) { return wish(cursor_wish(w)); }},
      {"step-cursor", "map|spectrum ACROSS UP", 3, 3,
       [](const Words& w) {
         return wish(StepCursor{plot_of(w[0]), number(w[1]), number(w[2])});
       }},
      {"zoom-plot", "map|spectrum TIME ROWS", 3, 3,
       [](const Words& w) {
         return wish(ZoomPlot{plot_of(w[0]), number(w[1]), number(w[2])});
       }},
      {"pan-plot", "map|spectrum ACROSS UP", 3, 3,
       [](const Words& w) {
         return wish(PanPlot{plot_of(w[0]), number(w[1]), number(w[2])});
       }},
      {"pick-at-cursor", "map|spectrum", 1, 1,
       [](const Words& w) { return wish(PickAtCursor{plot_of(w[0])}); }},
      {"step-track", "BY", 1, 1, [](const Words& w) { return wish(StepTrack{static_cast<int>(number(w[0]))}); }},
      {"step-tone", "UP", 1, 1, [](const Words& w) { return wish(StepTone{static_cast<int>(number(w[0]))}); }},
      {"read-order", "ORDER", 1, 1, [](const Words& w) { return wish(ReadOrder{number(w[0])}); }},
      {"band", "auto | hz LOW HIGH | orders LOW HIGH", 1, 3,
       [](const Words& w) { return wish(band_wish(w)); }},
      {"before", "FOLDER|none", 1, 1,
       [](const Words& w) { return wish(CompareWith{none_or(w[0]).value_or("")}); }},
      {"before-after", "on|off", 1, 1,
       [](const Words& w) { return wish(ShowBeforeAfter{on_or_off(w[0])}); }},
      {"place", "NUMBER", 1, 1,
       [](const Words& w) { return wish(PickPlace{static_cast<std::size_t>(whole(w[0]))}); }},
      {"mark-band", "on|off", 1, 1,
       [](const Words& w) { return wish(ArmBandMark{on_or_off(w[0])}); }},
      {"test", "NUMBER", 1, 1,
       [](const Words& w) { return wish(ShowTest{static_cast<std::size_t>(whole(w[0]))}); }},
      {"how", "on|off", 1, 1, [](const Words& w) { return wish(ShowCautions{on_or_off(w[0])}); }},
      {"part", "STEP NUMBER", 2, 2,
       [](const Words& w) {
         return wish(ShowPart{step_named(w[0]), numbered(w[1], "parts")});
       }},
      {"keys", "on|off", 1, 1, [](const Words& w) { return wish(ShowKeys{on_or_off(w[0])}); }},
      {"theme", "dark|light", 1, 1,
       [](const Words& w) {
         if (w[0] != "dark" && w[0] != "light") throw Misread{"a theme is dark or light"};
         return wish(SetDark{w[0] == "dark"});
       }},
      {"scale", "FACTOR", 1, 1, [](const Words& w) { return wish(SetScale{number(w[0])}); }},
      {"system-scale", "on|off", 1, 1,
       [](const Words& w) { return Command(FollowSystemScale{on_or_off(w[0])}); }},
      {"class", "on|off", 1, 1, [](const Words& w) { return wish(SetClassMode{on_or_off(w[0])}); }},
      {"quiz", "SEED|next|stop", 1, 1, [](const Words& w) { return wish(quiz_wish(w[0])); }},
      {"choose", "SOURCE", 1, 1, [](const Words& w) { return wish(AnswerQuiz{w[0]}); }},
      {"pin-here", "", 0, 0, [](const Words&) { return wish(PinHere{}); }},
      {"pin", "NUMBER|none", 1, 1,
       [](const Words& w) {
         return wish(w[0] == "none" ? PickPin{} : PickPin{pin_numbered(w[0])});
       }},
      {"pin-text", "NUMBER TEXT", 2, 2,
       [](const Words& w) {
         return wish(WritePin{pin_numbered(w[0]), w[1]});
       }},
      {"pin-drop", "NUMBER", 1, 1,
       [](const Words& w) { return wish(DropPin{pin_numbered(w[0])}); }},
      {"pins", "on|off", 1, 1, [](const Words& w) { return wish(ShowPins{on_or_off(w[0])}); }},
      {"fact", "KEY VALUE|none", 2, 2,
       [](const Words& w) {
         return wish(EnterFact{w[0], none_or(w[1])});
       }},
      {"undo", "", 0, 0, [](const Words&) { return wish(Undo{}); }},
      {"redo", "", 0, 0, [](const Words&) { return wish(Redo{}); }},
      {"sheet", "open-case|new-case|about|add-takes|change-take|demo-cases|band|earlier-case [TAKE|FILE]", 1, 2,
       [](const Words& w) { return wish(sheet_wish(w)); }},
      {"type", "FIELD TEXT", 2, 2,
       [](const Words& w) {
         return wish(TypeInto{w[0], w[1]});
       }},
      {"look-into", "FOLDER", 1, 1, [](const Words& w) { return wish(LookInto{w[0]}); }},
      {"submit", "", 0, 0, [](const Words&) { return wish(SubmitSheet{}); }},
      {"close-sheet", "", 0, 0, [](const Words&) { return wish(CloseSheet{}); }},
      {"take-out", "TAKE", 1, 1, [](const Words& w) { return wish(TakeOut{w[0]}); }},
      {"drop", "FILE", 1, 1, [](const Words& w) { return wish(DropFiles{{w[0]}}); }},
      {"copy-table", "", 0, 0, [](const Words&) { return wish(CopyTable{}); }},
      {"save-picture", "", 0, 0, [](const Words&) { return wish(SavePicture{}); }},
      {"paper", "a4|letter", 1, 1,
       [](const Words& w) {
         if (w[0] != "a4" && w[0] != "letter") throw Misread{"paper is a4 or letter"};
         return wish(SetPaper{w[0] == "a4" ? document::Paper::a4 : document::Paper::letter});
       }},
      {"write", "pdf|html|tables|packed", 1, 1,
       [](const Words& w) { return wish(WriteOut{hand_over_named(w[0])}); }},
      {"reveal", "on|off", 1, 1, [](const Words& w) { return wish(ShowAnswer{on_or_off(w[0])}); }},
      {"order-here", "", 0, 0, [](const Words&) { return wish(ReadOrderHere{}); }},
      {"play", "", 0, 0, [](const Words&) { return wish(PlaySound{true}); }},
      {"stop", "", 0, 0, [](const Words&) { return wish(PlaySound{false}); }},
      {"loop", "on|off", 1, 1, [](const Words& w) { return wish(LoopSound{on_or_off(w[0])}); }},
      {"hear", "take|band|tone|without", 1, 1,
       [](const Words& w) { return wish(HearAs{heard_named(w[0])}); }},
      {"slow", "half|quarter|not", 1, 1,
       [](const Words& w) { return wish(SlowSound{slowness_named(w[0])}); }},
      {"against", "TAKE|none", 1, 1,
       [](const Words& w) { return wish(HearAgainst{none_or(w[0])}); }},
      {"other", "on|off", 1, 1, [](const Words& w) { return wish(HearOther{on_or_off(w[0])}); }},
      {"match", "on|off", 1, 1, [](const Words& w) { return wish(MatchLevels{on_or_off(w[0])}); }},
      {"volume", "DB", 1, 1, [](const Words& w) { return wish(SetVolume{number(w[0])}); }},
      {"plan", "point|rpm|road|speed|seconds|countdown|session|hold|device|load VALUE", 2, 2,
       [](const Words& w) { return wish(plan_wish(w)); }},
      {"record", "begin|stop", 1, 1,
       [](const Words& w) {
         if (w[0] == "begin") return wish(BeginRecording{});
         if (w[0] == "stop") return wish(StopRecording{});
         throw Misread{"recording can begin or stop"};
       }},
      {"ready", "record|skip|end", 1, 1, [](const Words& w) { return wish(answer_wish(w[0])); }},
      {"judge", "keep|again|skip|end", 1, 1,
       [](const Words& w) { return wish(JudgeTake{verdict_named(w[0])}); }},
      {"size", "WIDTH HEIGHT", 2, 2,
       [](const Words& w) {
         return Command(SetWindowSize{whole(w[0]), whole(w[1])});
       }},
      {"wait", "", 0, 0, [](const Words&) { return Command(WaitForJobs{}); }},
      {"key", "NAME", 1, 1, [](const Words& w) { return Command(PressKey{w[0]}); }},
      {"click", "TARGET", 1, 1, [](const Words& w) { return Command(ClickTarget{w[0]}); }},
      {"hover", "TARGET [ACROSS DOWN]", 1, 3, [](const Words& w) { return Command(hover_of(w)); }},
      {"drag", "TARGET ACROSS DOWN TO-ACROSS TO-DOWN", 5, 5,
       [](const Words& w) {
         return Command(DragOver{hover_of(w), number(w[3]), number(w[4])});
       }},
      {"wheel", "TURNS", 1, 1, [](const Words& w) { return Command(TurnWheel{number(w[0])}); }},
      {"mouse", "on|off", 1, 1, [](const Words& w) { return Command(UseMouse{on_or_off(w[0])}); }},
      {"screenshot", "FILE.png", 1, 1,
       [](const Words& w) { return Command(TakeScreenshot{w[0]}); }},
      {"tell", "times|targets|new-times", 1, 1,
       [](const Words& w) {
         if (w[0] == "targets") return Command(TellTargets{});
         if (w[0] == "times") return Command(TellTimes{});
         if (w[0] == "new-times") return Command(ForgetTimes{});
         throw Misread{"what can be told is times, new-times or targets"};
       }},
      {"expect",
       "answer|band|before|check|facts|heard|hidden|no-target|notice|other|pins|playing|point|quiz|"
       "read-order|recording|step|take|takes|target|theme|tone|written VALUE",
       2, 2, [](const Words& w) { return Command(Expect{w[0], w[1]}); }},
      {"until", "as expect", 2, 2, [](const Words& w) { return Command(Until{{w[0], w[1]}}); }},
      {"quit", "", 0, 0, [](const Words&) { return Command(Quit{}); }},
  }};
  return all;
}

Command command_of(const Words& words) {
  const auto verb = std::ranges::find(verbs(), words.front(), &Verb::name);
  if (verb == verbs().end()) throw Misread{"'" + words.front() + "' is not a command"};
  const Words rest(words.begin() + 1, words.end());
  if (rest.size() < verb->least || rest.size() > verb->most)
    throw Misread{fmt::format("it reads: {} {}", verb->name, verb->usage)};
  return verb->read(rest);
}

}  // namespace

std::vector<ScriptLine> parse_script(std::string_view text, const std::string& where) {
  std::vector<ScriptLine> lines;
  std::size_t number = 0;
  while (!text.empty()) {
    const auto end = std::min(text.find('\n'), text.size());
    const std::string line(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    ++number;
    try {
      const Words words = words_of(line);
      if (!words.empty()) lines.push_back({number, line, command_of(words)});
    } catch (const Misread& misread) {
      throw Error(Fault::command, fmt::format("{}, line {}", where, number), misread.problem,
                  "see the commands: howlpoint-desk --help");
    }
  }
  return lines;
}

std::string script_help() {
  std::string help;
  for (const Verb& verb : verbs()) help += fmt::format("  {} {}\n", verb.name, verb.usage);
  return help;
}

std::optional<std::string> unmet(const Expect& expectation, const DeskState& state,
                                 const std::vector<std::string>& targets) {
  const auto drawn = [&] { return std::ranges::find(targets, expectation.value) != targets.end(); };
  const auto told = [&](const std::string& found) -> std::optional<std::string> {
    if (found == expectation.value) return std::nullopt;
    return fmt::format("{} is '{}', not '{}'", expectation.what, found, expectation.value);
  };
  const Selection& selection = state.view.selection;
  if (expectation.what == "step") return told(std::string(step_key(state.view.step)));
  if (expectation.what == "take") return told(selection.take.value_or("none"));
  if (expectation.what == "tone") return told(selection.tone.value_or("none"));
  if (expectation.what == "point") return told(selection.point.value_or("none"));
  if (expectation.what == "theme") return told(state.settings.dark ? "dark" : "light");
  if (expectation.what == "answer") return told(state.answer ? "yes" : "no");
  if (expectation.what == "before") return told(comparison_words(state));
  if (expectation.what == "band") return told(band_words(state));
  if (expectation.what == "quiz") return told(quiz_state_words(state));
  if (expectation.what == "pins")
    return told(std::to_string(state.opened ? state.opened->pins.size() : 0));
  if (expectation.what == "hidden") return told(is_answer_hidden(state) ? "yes" : "no");
  if (expectation.what == "check") return told(state.answer ? check_words(state) : "none");
  if (expectation.what == "read-order")
    return told(state.view.read_order ? fmt::format("{:.1f}", *state.view.read_order) : "none");
  if (expectation.what == "playing") return told(state.listen.playing ? "yes" : "no");
  if (expectation.what == "heard") return told(heard_words(state));
  if (expectation.what == "other") return told(state.listen.on_other ? "on" : "off");
  if (expectation.what == "takes")
    return told(std::to_string(state.opened ? state.opened->value.takes.size() : 0));
  if (expectation.what == "recording") return told(std::string(recording_key(state.record)));
  if (expectation.what == "facts") return told(facts_words(state));
  if (expectation.what == "written") return told(written_words(state));
  if (expectation.what == "target" && !drawn()) return expectation.value + " is not drawn";
  if (expectation.what == "no-target" && drawn()) return expectation.value + " is drawn";
  if (expectation.what == "target" || expectation.what == "no-target") return std::nullopt;
  if (expectation.what == "notice") {
    for (const Notice& notice : state.notices)
      if (notice.what.find(expectation.value) != std::string::npos) return std::nullopt;
    return "no notice says '" + expectation.value + "'";
  }
  return "'" + expectation.what + "' is nothing to expect";
}

}  // namespace howl::desk
