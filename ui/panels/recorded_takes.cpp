#include <fmt/format.h>

#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "ui/look/widgets.h"
#include "ui/panels/load_choice.h"
#include "ui/panels/parts.h"
#include "ui/panels/record_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

ImU32 severity_colour(const Theme& theme, Severity severity) {
  if (severity == Severity::spoilt) return theme.bad;
  return severity == Severity::doubt ? theme.warn : theme.quiet;
}

float put_fault(Frame& frame, Area area, Severity severity, const std::string& text,
                const std::string& remedy) {
  const Fonts& fonts = frame.look.fonts;
  const float top = area.y;
  const float side = frame.u(18);
  const Area sign = area.take_left(side, frame.u(10));
  put_sign({sign.x, sign.y + frame.u(2), side, side}, Sign::warning,
           severity_colour(frame.theme(), severity));
  area.take_top(put_paragraph(fonts.body, area, frame.theme().ink, text));
  if (!remedy.empty())
    area.take_top(put_paragraph(fonts.note, area, frame.theme().quiet, "To do: " + remedy));
  return area.y - top + frame.u(8);
}

float put_take_facts(Frame& frame, const TakeResult& take, Area area) {
  const Fonts& fonts = frame.look.fonts;
  const float top = area.y;
  const auto say = [&](std::string_view name, const std::string& value) {
    Area row = area;
    Area label = row.take_left(frame.u(104));
    label.h = line_height(fonts.body);
    put_line(fonts.note, label, frame.theme().quiet, name);
    area.take_top(put_paragraph(fonts.body, row, frame.theme().ink, value));
  };
  say("speed", speed_words(take));
  say("known from", take.speed_source);
  if (take.sound_speed.rpm)
    say("by the sound",
        fmt::format(
            "{:.0f} rpm{}", *take.sound_speed.rpm,
            take.sound_speed.disagreement_percent
                ? fmt::format(", off by {} %",
                              typeset(fixed_text(*take.sound_speed.disagreement_percent, 1)))
                : ""));
  say("length", fmt::format("{:.1f} s", take.seconds));
  for (const auto& [key, value] : take.load) say("load", load_words(key, value));
  if (const std::string road = road_text(take); !road.empty()) say("road speed", road);
  return area.y - top + frame.u(10);
}

void put_take_changes(Frame& frame, Area foot, const std::string& id) {
  const ButtonWords change{.label = "Change"};
  if (button(frame, "take.change", foot.take_left(button_width(frame, change), frame.u(8)), change))
    frame.wish(BeginSheet{.kind = SheetKind::change_take, .take = id});
  const ButtonWords out{.label = "Take it out"};
  if (button(frame, "take.out", foot.take_left(button_width(frame, out)), out))
    frame.wish(TakeOut{id});
}

void put_take(Frame& frame, const Area& area, const TakeResult& take) {
  Area inner = card(frame, area, fmt::format("{} at {}", take.id, take.point));
  if (!frame.state.settings.class_mode)
    put_take_changes(frame, inner.take_bottom(frame.u(kTouch), frame.u(8)), take.id);
  scrolled(frame, "take.faults", inner, [&](Area& rows) {
    rows.take_top(put_take_facts(frame, take, rows));
    for (const QualityFinding& finding : take.quality)
      rows.take_top(put_fault(frame, rows, finding.severity, as_in_sheet(finding.text),
                              as_in_sheet(finding.remedy)));
    for (const std::string& warning : take.warnings)
      rows.take_top(put_fault(frame, rows, Severity::doubt, as_in_sheet(warning), ""));
    if (take.quality.empty() && take.warnings.empty())
      rows.take_top(put_paragraph(frame.look.fonts.body, rows, frame.theme().good,
                                  "Nothing is wrong with this take."));
  });
}

/// A class looks at takes; it changes none.
void put_list(Frame& frame, const Area& area) {
  Area list = card(frame, area, "Takes");
  if (frame.state.settings.class_mode) return put_takes(frame, list);
  Area foot = list.take_bottom(frame.u(kTouch), frame.u(8));
  const ButtonWords add{.label = "Add recordings", .sign = Sign::plus};
  if (button(frame, "takes.add", foot.take_left(button_width(frame, add), frame.u(8)), add))
    frame.wish(BeginSheet{.kind = SheetKind::add_takes});
  const ButtonWords undo{.label = "Undo", .enabled = !frame.state.cases_before.empty()};
  if (button(frame, "undo.undo", foot.take_left(button_width(frame, undo)), undo))
    frame.wish(Undo{});
  put_takes(frame, list);
}

}  // namespace

void put_recorded_takes(Frame& frame, const Area& area) {
  Area rest = area;
  const Analysis* const analysis = frame.state.analysis();
  const auto& picked = frame.state.view.selection.take;
  const TakeResult* const take =
      analysis != nullptr && picked ? find_take(*analysis, *picked) : nullptr;
  if (take != nullptr) put_take(frame, rest.take_right(rest.w * 0.36F, frame.u(kGap)), *take);
  put_list(frame, rest);
}

}  // namespace howl::desk
