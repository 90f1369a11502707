#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "src/report/number_text.h"
#include "src/report/scale.h"
#include "ui/look/flow.h"
#include "ui/look/widgets.h"
#include "ui/panels/record_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr float kMainHeight = 60;
constexpr double kLowestDb = -60;

// ---- the meter ---------------------------------------------------------------------------------

double shown_db(double magnitude) {
  return magnitude > 0 ? std::max(20 * std::log10(magnitude), kLowestDb) : kLowestDb;
}
float share_of(double db) { return static_cast<float>(std::clamp(1 - db / kLowestDb, 0.0, 1.0)); }

ImU32 signal_colour(const Theme& theme, SignalWords::Kind kind) {
  switch (kind) {
    case SignalWords::Kind::good:
      return theme.good;
    case SignalWords::Kind::loud:
      return theme.bad;
    case SignalWords::Kind::quiet:
      return theme.warn;
    case SignalWords::Kind::none:
      break;
  }
  return theme.quiet;
}

void put_meter_scale(Frame& frame, const Area& bar, const Area& labels) {
  for (int db = -60; db <= 0; db += 10) {
    const float x = bar.x + share_of(db) * bar.w;
    hairline({x, bar.bottom()}, {x, bar.bottom() + frame.u(5)}, frame.theme().quiet);
    const Side side = db == 0 ? Side::right : db == -60 ? Side::left : Side::centre;
    put_text(frame.look.fonts.note, {x, labels.y + frame.u(6)}, frame.theme().quiet,
             typeset(fmt::format("{}", db)), side);
  }
}

void put_clip_lamp(Frame& frame, const Area& area, bool clipped) {
  const Theme& theme = frame.theme();
  fill(area, clipped ? theme.bad : theme.raised, frame.u(8));
  put_line(frame.look.fonts.strong, area, clipped ? theme.card : theme.quiet, "CLIP", Side::centre);
}

// ---- what is going on --------------------------------------------------------------------------

double rate_of_view() { return 48'000.0; }

std::string elapsed_words(const Frame& frame, const SessionView& view) {
  const double seconds = static_cast<double>(view.recording.status.frames) / rate_of_view();
  const double length = frame.state.record.plan.seconds;
  return length > 0 ? fmt::format("{:.1f} of {:.0f} s", seconds, length)
                    : fmt::format("{:.1f} s", seconds);
}

void put_where(Frame& frame, Area& rest, const SessionView& view) {
  const Fonts& fonts = frame.look.fonts;
  Area line = rest.take_top(line_height(fonts.title) + frame.u(4), frame.u(6));
  if (view.count > 1)
    put_line(fonts.body, line.take_right(frame.u(110)), frame.theme().quiet,
             fmt::format("{} of {}", view.number, view.count), Side::right);
  put_line(fonts.title, line, frame.theme().ink,
           view.step.point + ", " + hold_words(view.step.speed));
}

void put_told(Frame& frame, Area& rest, const SessionView& view) {
  for (const std::string& text : view.told)
    rest.take_top(put_paragraph(frame.look.fonts.body, rest, frame.theme().warn, text), frame.u(6));
}

/// What counts most now, to be read from afar; smaller where it would not fit.
void put_huge(Frame& frame, Area& rest, const std::string& words, ImU32 colour) {
  const bool plain = std::ranges::all_of(
      words, [](char c) { return static_cast<unsigned char>(c) < 0x80U; });  // all that it has
  const bool fits = plain && text_width(frame.look.fonts.huge, words) < rest.w;
  put_line(fits ? frame.look.fonts.huge : frame.look.fonts.figure,
           rest.take_top(frame.u(84), frame.u(4)), colour, words, Side::centre);
}

/// Large words in the middle of what is left.
void put_large(Frame& frame, Area& rest, const std::string& words, ImU32 colour) {
  put_line(frame.look.fonts.figure, rest.take_top(frame.u(56), frame.u(6)), colour, words,
           Side::centre);
}

/// Buttons along the bottom, the main one first and widest.
struct Choice {
  std::string_view name;
  std::string_view label;
  std::optional<Sign> sign;
  Intention wish;
};
void put_choices(Frame& frame, Area row, const std::vector<Choice>& choices) {
  const float main = row.w * (choices.size() > 3 ? 0.34F : choices.size() > 1 ? 0.44F : 1.0F);
  const auto others = static_cast<float>(choices.size() - 1);
  const float width = choices.size() > 1 ? (row.w - main) / others - frame.u(10) : 0;
  for (std::size_t i = 0; i < choices.size(); ++i) {
    const Choice& each = choices[i];
    const Area area = row.take_left(i == 0 ? main : width, frame.u(10));
    if (button(frame, each.name, area,
               {.label = each.label,
                .sign = each.sign,
                .look = i == 0 ? ButtonLook::main : ButtonLook::plain}))
      frame.wish(each.wish);
  }
}

Choice answer(std::string_view name, std::string_view label, ReadyAnswer::Kind kind,
              std::optional<Sign> sign = {}) {
  return {name, label, sign, AnswerStep{{.kind = kind, .device = {}}}};
}

/// The next of the microphones, for one that does not open.
Intention next_device(const Frame& frame) {
  const RecordState& record = frame.state.record;
  const auto at =
      std::ranges::find(record.devices, record.plan.device.value_or(""), &DeviceChoice::name);
  std::string name;
  if (!record.devices.empty())
    name = at == record.devices.end() || at + 1 == record.devices.end()
               ? record.devices.front().name
               : (at + 1)->name;
  return AnswerStep{{.kind = ReadyAnswer::Kind::other_device, .device = name}};
}

void put_asking(Frame& frame, Area rest, const SessionView& view) {
  using Kind = ReadyAnswer::Kind;
  std::vector<Choice> choices{answer("record.go", "Record", Kind::record, Sign::record),
                              answer("record.skip", "Skip", Kind::skip),
                              answer("record.end", "End", Kind::end)};
  if (frame.state.record.devices.size() > 1)
    choices.insert(choices.begin() + 2,
                   {"record.other", "Other mic", std::nullopt, next_device(frame)});
  put_choices(frame, rest.take_bottom(frame.u(kMainHeight), frame.u(kGap)), choices);
  put_told(frame, rest, view);
  rest.take_top(std::max(0.0F, rest.h * 0.4F - frame.u(110)));
  put_large(frame, rest, "Hold the probe at", frame.theme().quiet);
  put_huge(frame, rest, view.step.point, frame.theme().ink);
  put_large(frame, rest,
            std::holds_alternative<EngineOff>(view.step.speed)
                ? "engine off"
                : "engine at " + hold_words(view.step.speed),
            frame.theme().accent);
}

void put_signal(Frame& frame, Area& rest, const SessionView& view) {
  const auto& meters = view.recording.status.meters;
  const MeterReading meter = meters.empty() ? MeterReading{} : meters.front();
  const float high = std::clamp(rest.h - frame.u(78), frame.u(76), frame.u(300));
  put_level_meter(frame, rest.take_top(high, frame.u(10)), meter);
  const SignalWords words = signal_words(meter);
  std::string said(words.words);
  if (const auto& hint = frame.state.record.hint) said += ": " + *hint;
  put_line(frame.look.fonts.title, rest.take_top(frame.u(30), frame.u(4)),
           signal_colour(frame.theme(), words.kind), said);
  std::string more;
  if (const auto& tone = view.recording.tone) {
    more = fmt::format("Strongest tone {:.0f} Hz", tone->frequency.value);
    if (tone->order) more += fmt::format(", order {:.2f}", tone->order->value);
  }
  if (const auto lost = view.recording.status.overruns.size(); lost > 0)
    more += fmt::format("{}Sound was lost in {} place{}", more.empty() ? "" : " · ", lost,
                        lost == 1 ? "" : "s");
  put_line(frame.look.fonts.body, rest.take_top(frame.u(24), frame.u(4)), frame.theme().quiet,
           more);
}

void put_running(Frame& frame, Area rest, const SessionView& view) {
  const bool runs = view.phase == SessionPhase::recording;
  put_choices(frame, rest.take_bottom(frame.u(kMainHeight), frame.u(kGap)),
              {{"record.stop", "Stop", Sign::stop, StopRecording{}}});
  put_told(frame, rest, view);
  const double left = std::ceil(view.recording.until_begin.value);
  put_huge(frame, rest,
           runs       ? elapsed_words(frame, view)
           : left > 0 ? fmt::format("begins in {:.0f}", left)
                      : "opening the microphone …",
           runs ? frame.theme().ink : frame.theme().accent);
  const double length = frame.state.record.plan.seconds;
  if (runs && length > 0) {
    const double done = static_cast<double>(view.recording.status.frames) / rate_of_view() / length;
    put_meter(rest.take_top(frame.u(10)), static_cast<float>(done), frame.theme().accent,
              frame.theme().raised);
  }
  rest.take_top(frame.u(14));
  put_signal(frame, rest, view);
}

std::string_view verdict_words(Severity worst) {
  if (worst == Severity::spoilt) return "Spoilt: record it again";
  return worst == Severity::doubt ? "Usable, with doubts" : "Good";
}

void put_verdict(Frame& frame, Area rest, const SessionView& view) {
  const Theme& theme = frame.theme();
  const TakeVerdict& verdict = *view.verdict;
  const bool spoilt = verdict.worst == Severity::spoilt;
  const Choice keep{"record.keep", spoilt ? "Keep anyway" : "Keep",
                    spoilt ? std::nullopt : std::optional(Sign::tick),
                    JudgeTake{VerdictAnswer::keep}};
  const Choice again{"record.again", "Record again", Sign::loop, JudgeTake{VerdictAnswer::again}};
  const Choice skip{"record.skip", "Leave out", std::nullopt, JudgeTake{VerdictAnswer::skip}};
  const Choice end{"record.end", "End without it", std::nullopt, JudgeTake{VerdictAnswer::end}};
  std::vector<Choice> choices{spoilt ? again : keep, spoilt ? keep : again};
  if (view.count > 1) choices.push_back(skip);
  choices.push_back(end);
  put_choices(frame, rest.take_bottom(frame.u(kMainHeight), frame.u(kGap)), choices);
  const ImU32 colour = spoilt                             ? theme.bad
                       : verdict.worst == Severity::doubt ? theme.warn
                                                          : theme.good;
  Area head = rest.take_top(frame.u(52), frame.u(8));
  const Area sign = head.take_left(frame.u(40), frame.u(14));
  put_sign({sign.x, sign.y + (sign.h - sign.w) / 2, sign.w, sign.w},
           verdict.worst == Severity::note ? Sign::tick : Sign::warning, colour);
  put_line(frame.look.fonts.figure, head, colour, verdict_words(verdict.worst));
  put_line(frame.look.fonts.body, rest.take_top(frame.u(26), frame.u(6)), theme.quiet,
           elapsed_words(frame, view) +
               (verdict.heard_rpm ? fmt::format(" · engine by the sound: {} rpm",
                                                picture::format_number(*verdict.heard_rpm, 0))
                                  : std::string()));
  if (!view.recording.status.meters.empty() && rest.h > frame.u(230)) {
    MeterReading whole = view.recording.status.meters.front();
    whole.peak = 0;  // the highest is what counts now
    whole.rms = 0;
    put_level_meter(frame, rest.take_top(frame.u(84), frame.u(14)), whole);
  }
  scrolled(frame, "record.faults", rest, [&](Area& rows) {
    put_told(frame, rows, view);
    for (const std::string& fault : verdict.faults) {
      Area line = rows;
      const float side = frame.u(18);
      const Area mark = line.take_left(side, frame.u(10));
      put_sign({mark.x, mark.y + frame.u(2), side, side}, Sign::warning, colour);
      rows.take_top(put_paragraph(frame.look.fonts.body, line, theme.ink, fault), frame.u(8));
    }
    if (const auto& hint = frame.state.record.hint)
      rows.take_top(put_paragraph(frame.look.fonts.body, rows, theme.ink, "Gain: " + *hint));
  });
}

}  // namespace

void put_level_meter(Frame& frame, const Area& area, const MeterReading& meter) {
  const Theme& theme = frame.theme();
  Area rest = area;
  const Area labels = rest.take_bottom(frame.u(28));
  const Area lamp = rest.take_right(frame.u(84), frame.u(10));
  put_clip_lamp(frame, lamp, meter.clipped > 0);
  const Area bar = rest;
  fill(bar, theme.raised, frame.u(8));
  const auto zone = [&](double from, double to, ImU32 colour, float height) {
    const float left = bar.x + share_of(from) * bar.w;
    fill({left, bar.bottom() - height, share_of(to) * bar.w + bar.x - left, height}, colour);
  };
  // Where the highest peak should come to lie: src/record/gain_hint.h.
  zone(-20, -6, faded(theme.good, 0.35F), bar.h);
  zone(-6, 0, faded(theme.bad, 0.30F), bar.h);
  const SignalWords::Kind kind = signal_words(meter).kind;
  // Never beyond the peak, though a wave that was cut off is louder than a sine with its peak.
  const double rms = std::min(shown_db(std::sqrt(2.0) * meter.rms), shown_db(meter.peak));
  const double peak = shown_db(meter.peak);
  const Area inner = bar.inset(0, bar.h * 0.2F);
  const ImU32 lit = signal_colour(theme, kind);
  if (meter.peak > 0) {
    fill({inner.x, inner.y, share_of(peak) * bar.w, inner.h}, faded(lit, 0.55F), frame.u(4));
    fill({inner.x, inner.y, share_of(rms) * bar.w, inner.h}, lit, frame.u(4));
  }
  if (meter.highest > 0) {
    const float x = bar.x + share_of(shown_db(meter.highest)) * bar.w;
    hairline({x, bar.y}, {x, bar.bottom()}, theme.ink, frame.u(2.5F));
  }
  put_meter_scale(frame, bar, labels);
}

void put_recording(Frame& frame, const Area& area, const SessionView& view) {
  Area rest = card(frame, area, "");
  put_where(frame, rest, view);
  switch (view.phase) {
    case SessionPhase::asking:
      return put_asking(frame, rest, view);
    case SessionPhase::beginning:
    case SessionPhase::recording:
      return put_running(frame, rest, view);
    case SessionPhase::judged:
      if (view.verdict) return put_verdict(frame, rest, view);
      break;
    case SessionPhase::judging:
    case SessionPhase::over:
      break;
  }
  put_told(frame, rest, view);
  nothing_to_show(frame, rest, "Judging the take …");
}

}  // namespace howl::desk
