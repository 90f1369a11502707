#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "src/case/about.h"
#include "src/case/evidence.h"
#include "src/reasoning/fact_words.h"
#include "src/report/family_words.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "ui/look/flow.h"
#include "ui/look/sight.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

void put_fact(Frame& frame, Area& area, std::string_view name, std::string_view value) {
  const Fonts& fonts = frame.look.fonts;
  const float label = frame.u(132);
  Area row = area;
  const Area left = row.take_left(label, frame.u(8));
  put_line(fonts.note, {left.x, left.y, left.w, line_height(fonts.body)}, frame.theme().quiet,
           name);
  const float used = put_paragraph(fonts.body, row, frame.theme().ink, value);
  area.take_top(used, frame.u(7));
}

std::string band_said(const Analysis& analysis) {
  if (!analysis.suspect_band) return "none: nothing howls";
  const SuspectBand& suspect = *analysis.suspect_band;
  return band_text(suspect.band) +
         (suspect.chosen_by_user ? ", chosen by you" : ", chosen by the program");
}

std::vector<std::string> tone_remarks(const Analysis& analysis) {
  std::vector<const ToneResult*> tones;
  for (const ToneResult& tone : analysis.tones)
    if (!told_with_family(tone, analysis)) tones.push_back(&tone);
  std::vector<std::string> remarks;
  for (const Saying& saying : sayings(tones, &ToneResult::remark))
    remarks.push_back(as_in_sheet(saying_text(saying)));
  return remarks;
}

/// What the customer says first, then the vehicle, then what was found.
void put_case_facts(Frame& frame, Area& rows) {
  const OpenedCase& opened = *frame.state.opened;
  const Fonts& fonts = frame.look.fonts;
  rows.take_top(put_paragraph(fonts.title, rows, frame.theme().ink,
                              opened.value.title.empty() ? "Without a title" : opened.value.title),
                frame.u(8));
  if (!opened.value.about.complaint.empty())
    rows.take_top(put_paragraph(fonts.body, rows, frame.theme().ink, opened.value.about.complaint));
  rows.take_top(frame.u(14));
  for (const AboutField& about : about_fields)
    if (const std::string& said = opened.value.about.*about.value;
        !said.empty() && about.key != "complaint")
      put_fact(frame, rows, about.label, said);
  put_fact(frame, rows, "Layout", opened.profile.title);
  if (!opened.profile.description.empty()) put_fact(frame, rows, "", opened.profile.description);
  if (opened.profile.cylinders)
    put_fact(frame, rows, "Engine",
             fmt::format("{} cylinders, {}-stroke; it fires at order {:.1f}",
                         *opened.profile.cylinders, opened.profile.strokes,
                         2.0 * *opened.profile.cylinders / opened.profile.strokes));
  if (const Analysis* analysis = frame.state.analysis()) {
    put_fact(frame, rows, "Suspect band", band_said(*analysis));
    if (const ToneResult* howl = strongest_howl(*analysis))
      put_fact(frame, rows, "Strongest howl", howl->id + ", " + tone_words(*howl));
    for (const std::string& remark : tone_remarks(*analysis))
      put_fact(frame, rows, "Remark", remark);
  }
  put_fact(frame, rows, "Begun", opened.value.created.substr(0, 10));
  put_fact(frame, rows, "Folder", opened.folder.string());
}

void put_case(Frame& frame, const Area& area) {
  Area inner = card(frame, area, "The complaint");
  if (!frame.state.settings.class_mode) {  // a class changes nothing
    const ButtonWords change{.label = "Change"};
    const Area foot = inner.take_bottom(frame.u(kTouch), frame.u(8));
    if (button(frame, "case.about", {foot.x, foot.y, button_width(frame, change), foot.h}, change))
      frame.wish(BeginSheet{.kind = SheetKind::about});
  }
  scrolled(frame, "case", inner, [&](Area& rows) { put_case_facts(frame, rows); });
}

/// What a technician should know of it; may be empty.
std::string said_of(const WorkshopFact& fact, const std::string& value) {
  const auto says = fact.says.find(value);
  return says == fact.says.end() ? std::string() : says->second;
}

/// What the answer makes of what was found; empty where it does not say it yet.
std::string remark_of(const Analysis* analysis, const WorkshopFact& fact,
                      const std::string& value) {
  if (analysis == nullptr) return "";
  const std::string begin = found_words(fact, value);
  for (const std::string& remark : analysis->verdict.remarks)
    if (remark.starts_with(begin)) return remark.substr(begin.size());
  return "";
}

/// Whether a remark is of no fact that is listed.
bool stands_alone(const OpenedCase& opened, const std::string& remark) {
  return std::ranges::none_of(opened.facts, [&](const WorkshopFact& fact) {
    const WorkshopEvidence* const found = find_evidence(opened.value, fact.key);
    return found != nullptr && remark.starts_with(found_words(fact, found->value));
  });
}

/// A fact with all that can be found of it; what was found is lit, and goes if it is pressed again.
void put_fact_to_enter(Frame& frame, const WorkshopFact& fact, Area& rows) {
  const Fonts& fonts = frame.look.fonts;
  const Theme& theme = frame.theme();
  const WorkshopEvidence* const found = find_evidence(frame.state.opened->value, fact.key);
  const bool led_to = frame.state.view.fact == fact.key;
  const float top = rows.y;
  rows.take_top(
      put_paragraph(fonts.strong, rows, led_to ? theme.accent : theme.ink, fact.question));
  rows.take_top(put_paragraph(fonts.note, rows, theme.quiet, fact.how), frame.u(2));
  if (!fact.cautions.empty())
    rows.take_top(put_paragraph(fonts.note, rows, theme.warn,
                                fmt::format("Caution: {}", fmt::join(fact.cautions, "; "))));
  rows.take_top(frame.u(6));
  Flow flow(frame, rows, frame.u(kTouch));
  for (const std::string& value : fact.values) {
    const bool lit = found != nullptr && found->value == value;
    const std::string label = fact_value_words(value);
    const ButtonWords words{.label = label, .on = lit};
    if (button(frame, fmt::format("fact.{}.{}", fact.key, value),
               flow.next_pixels(button_width(frame, words)), words))
      frame.wish(EnterFact{fact.key, lit ? std::nullopt : std::optional(value)});
  }
  rows.take_top(flow.bottom() - rows.y, frame.u(6));
  if (found != nullptr) {
    std::string meaning = remark_of(frame.state.analysis(), fact, found->value);
    if (meaning.empty()) meaning = said_of(fact, found->value);
    for (const std::string& note : {found->note, meaning})
      if (!note.empty()) rows.take_top(put_paragraph(fonts.note, rows, theme.quiet, note));
  }
  if (led_to) {
    const Area whole{rows.x, top, rows.w, rows.y - top};
    frame.targets.insert_or_assign("words.fact", whole);
    bring_to_sight(whole, fmt::format("fact {}", frame.state.view.led_to_fact));
  }
  rows.take_top(frame.u(16));
}

/// Returns the height used: what is said beside the buttons is never cut.
float put_undo(Frame& frame, const Area& area) {
  Area row = area;
  row.h = frame.u(kTouch);
  const ButtonWords redo{.label = "Redo", .enabled = !frame.state.cases_after.empty()};
  if (button(frame, "undo.redo", row.take_right(button_width(frame, redo), frame.u(8)), redo))
    frame.wish(Redo{});
  const ButtonWords undo{.label = "Undo", .enabled = !frame.state.cases_before.empty()};
  if (button(frame, "undo.undo", row.take_right(button_width(frame, undo), frame.u(12)), undo))
    frame.wish(Undo{});
  const float used = put_paragraph(
      frame.look.fonts.note, {row.x, row.y, row.w, area.h}, frame.theme().quiet,
      "Press what you found; press it again to take it back. The service manual goes before "
      "what is said here.");
  return std::max(used, row.h);
}

void put_workshop(Frame& frame, const Area& area) {
  const OpenedCase& opened = *frame.state.opened;
  Area inner = card(frame, area, "Found in the workshop",
                    fmt::format("{} of {} looked at", opened.value.evidence.size(),
                                std::max(opened.facts.size(), opened.value.evidence.size())));
  inner.take_top(put_undo(frame, inner), frame.u(10));
  scrolled(frame, "facts", inner, [&](Area& rows) {
    if (const Analysis* analysis = frame.state.analysis())
      for (const std::string& remark : analysis->verdict.remarks)
        if (stands_alone(opened, remark))
          rows.take_top(
              put_paragraph(frame.look.fonts.note, rows, frame.theme().quiet, as_in_sheet(remark)),
              frame.u(6));
    for (const WorkshopFact& fact : opened.facts) put_fact_to_enter(frame, fact, rows);
  });
}

}  // namespace

void draw_complaint(Frame& frame, const Area& area) {
  Area rest = area;
  constexpr float low = 260;
  if (area.h < frame.u(low)) {
    constexpr std::array<std::string_view, 2> names{"The complaint", "Found in the workshop"};
    if (put_parts_in_turn(frame, rest, names) == 0) return put_case(frame, rest);
    return put_workshop(frame, rest);
  }
  put_case(frame, rest.take_left(rest.w * 0.44F, frame.u(kGap)));
  put_workshop(frame, rest);
}

}  // namespace howl::desk
