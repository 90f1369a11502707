#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "src/profile/load_tests.h"
#include "ui/look/flow.h"
#include "ui/look/sight.h"
#include "ui/look/text_field.h"
#include "ui/look/widgets.h"
#include "ui/panels/load_choice.h"
#include "ui/panels/sheet_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

void type_into(Frame& frame, std::string_view field, std::string text) {
  frame.wish(TypeInto{std::string(field), std::move(text)});
}

// ---- where -------------------------------------------------------------------------------------

void put_point_choice(Frame& frame, const Sheet& sheet, const ProbePoint& point, const Area& row) {
  const Theme& theme = frame.theme();
  const bool lit =
      field(sheet.typed, "new-point").empty() && field(sheet.typed, "point") == point.name;
  const Touch touched = touch(frame, "sheet.point." + point.name, row);
  if (lit || touched.over) fill(row, lit ? theme.lit : faded(theme.raised, 0.55F), frame.u(6));
  Area inner = row.inset(frame.u(12), 0);
  const bool room = inner.w > text_width(frame.look.fonts.strong, point.name) + frame.u(62);
  if (const std::size_t takes = takes_at(frame.state.opened->value, point.name); takes > 0 && room)
    put_line(frame.look.fonts.note, inner.take_right(frame.u(62)), theme.quiet,
             fmt::format("{} {}", takes, takes == 1 ? "take" : "takes"), Side::right);
  put_line(lit ? frame.look.fonts.strong : frame.look.fonts.body, inner, theme.ink, point.name);
  if (lit) bring_to_sight(row, "sheet.point." + point.name);
  if (touched.pressed) type_into(frame, "point", point.name);
}

/// What the recording's name says, to be confirmed by a press.
void put_suggestion(Frame& frame, Area& rest, const Sheet& sheet) {
  if (sheet.sounds.empty() || !field(sheet.typed, "point").empty() ||
      !field(sheet.typed, "new-point").empty())
    return;
  const OpenedCase& opened = *frame.state.opened;
  const std::string point =
      suggested_point(sheet.sounds.front(), all_points(opened.value, opened.profile));
  const Fonts& fonts = frame.look.fonts;
  rest.take_top(
      put_paragraph(fonts.strong, rest, frame.theme().warn,
                    point.empty() ? "Where did the microphone touch?"
                                  : "Where did the microphone touch? The file's name says:"),
      frame.u(6));
  if (point.empty()) return;
  const std::string label = "Yes, " + point;
  if (button(frame, "sheet.suggested", rest.take_top(frame.u(kTouch), frame.u(8)),
             {.label = label, .sign = Sign::tick}))
    type_into(frame, "point", point);
}

void put_where(Frame& frame, Area area, const Sheet& sheet) {
  const OpenedCase& opened = *frame.state.opened;
  put_suggestion(frame, area, sheet);
  scrolled(frame, "sheet.points", area, [&](Area& rows) {
    for (const ProbePoint& point : all_points(opened.value, opened.profile))
      put_point_choice(frame, sheet, point, rows.take_top(frame.u(kTouch), frame.u(2)));
    rows.take_top(frame.u(8));
    const Typed typed =
        text_field(frame, "sheet.new-point", rows.take_top(frame.u(kTouch)),
                   {.text = field(sheet.typed, "new-point"), .hint = "another place …"});
    if (typed.changed) type_into(frame, "new-point", typed.text);
  });
}

// ---- how fast ----------------------------------------------------------------------------------

void put_log(Frame& frame, Area& rest, const Sheet& sheet) {
  Area row = sheet_row(frame, rest, "Log file");
  const std::string log = field(sheet.typed, "log");
  const std::string words = !log.empty() ? std::filesystem::path(log).filename().string()
                            : sheet.kind == SheetKind::change_take ? "Choose another"
                                                                   : "Choose the file";
  const ButtonWords choose{.label = words, .sign = Sign::folder};
  if (button(frame, "sheet.log", row.take_left(button_width(frame, choose)), choose))
    frame.wish(LookFor{Wanted::log});
}

void put_speed(Frame& frame, Area& rest, const Sheet& sheet) {
  constexpr std::array<std::string_view, kSpeedEntries> names{"Held",  "Sound", "Log",
                                                              "Tacho", "Ramp",  "Off"};
  const std::string now = field(sheet.typed, "speed");
  std::size_t chosen = 0;
  for (std::size_t i = 0; i < kSpeedEntries; ++i)
    if (speed_entry_key(static_cast<SpeedEntry>(i)) == now) chosen = i;
  const Area row = sheet_row(frame, rest, "Engine speed");
  if (const auto pressed = choice(frame, "sheet.speed", row, names, chosen))
    type_into(frame, "speed", std::string(speed_entry_key(static_cast<SpeedEntry>(*pressed))));
  switch (static_cast<SpeedEntry>(chosen)) {
    case SpeedEntry::rpm:
      return put_field(frame, rest, sheet, "rpm", "rpm", "1500", ImGui::IsWindowAppearing());
    case SpeedEntry::sound:
      return put_field(frame, rest, sheet, "about, rpm", "near", "if you know it: 1500");
    case SpeedEntry::log:
      return put_log(frame, rest, sheet);
    case SpeedEntry::tacho:
      put_field(frame, rest, sheet, "on channel", "tacho", "2");
      return put_field(frame, rest, sheet, "pulses a turn", "pulses", "1");
    case SpeedEntry::ramp:
      return put_field(frame, rest, sheet, "s:rpm, s:rpm …", "ramp", "0:800,30:3000");
    case SpeedEntry::off:
      rest.take_top(put_paragraph(frame.look.fonts.note, rest, frame.theme().quiet,
                                  "The engine stands still: what is heard is there without it."),
                    frame.u(10));
      return;
  }
}

// ---- under which load --------------------------------------------------------------------------

void put_loads(Frame& frame, Area& rest, const Sheet& sheet) {
  const float top = rest.y;
  const Area row = sheet_row(frame, rest, "Load");
  Flow flow(frame, row, row.h);
  for (const LoadTest& test : load_tests()) {
    if (!is_test_possible(frame.state.opened->profile, test.key)) continue;
    const std::string name = "load." + test.key;
    if (auto next = load_button(frame, "sheet." + name, test, field(sheet.typed, name), flow))
      type_into(frame, name, std::move(*next));
  }
  const bool background = !field(sheet.typed, "background").empty();
  const ButtonWords words{.label = "suspect does not work", .on = background};
  if (button(frame, "sheet.background", flow.next_pixels(button_width(frame, words)), words))
    type_into(frame, "background", background ? "" : "yes");
  const float used = flow.bottom() - top + frame.u(10);
  if (used > rest.y - top) rest.take_top(used - (rest.y - top));
}

}  // namespace

void put_take_entry(Frame& frame, const Area& area, const Sheet& sheet) {
  Area rest = area;
  const Area left = rest.take_left(rest.w * 0.32F, frame.u(2 * kGap));
  put_where(frame, left, sheet);
  scrolled(frame, "sheet.facts", rest, [&](Area& rows) {
    put_speed(frame, rows, sheet);
    put_loads(frame, rows, sheet);
    put_field(frame, rows, sheet, "Road speed, km/h", "road-speed", "where the vehicle moves");
    put_field(frame, rows, sheet, "Note", "note");
    put_field(frame, rows, sheet, "Probe's channel", "channel", "1");
    put_field(frame, rows, sheet, "Reference on", "reference", "channel of a second microphone");
  });
}

}  // namespace howl::desk
