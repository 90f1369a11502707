#include <fmt/format.h>

#include <algorithm>

#include "ui/look/shapes.h"
#include "ui/look/sight.h"
#include "ui/look/text_field.h"
#include "ui/look/widgets.h"
#include "ui/panels/sheet_panels.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"

namespace howl::desk {
namespace {

namespace fs = std::filesystem;

void put_entry(Frame& frame, const Sheet& sheet, const PlaceEntry& entry, const Area& row) {
  const Theme& theme = frame.theme();
  const bool lit =
      std::ranges::find(sheet.chosen, sheet.place.folder / entry.name) != sheet.chosen.end();
  const Touch touched = touch(frame, "place." + entry.name, row);
  if (lit || touched.over) fill(row, lit ? theme.lit : faded(theme.raised, 0.55F), frame.u(6));
  if (entry.name == sheet.pointed) {
    outline(row, theme.accent, frame.u(6), frame.u(1.5F));
    bring_to_sight(row, "place." + sheet.place.folder.string() + "/" + entry.name);
  }
  Area inner = row.inset(frame.u(12), frame.u(4));
  const float side = frame.u(20);
  const Area sign = inner.take_left(side, frame.u(12));
  const Area middle{sign.x, sign.y + (sign.h - side) / 2, side, side};
  const bool is_case = entry.kind == PlaceEntry::Kind::case_folder;
  if (entry.kind == PlaceEntry::Kind::file)
    put_sign(middle, lit ? Sign::tick : Sign::circle, lit ? theme.accent : theme.quiet);
  else
    put_sign(middle, Sign::folder, is_case ? theme.accent : theme.quiet);
  if (is_case)
    put_line(frame.look.fonts.note, inner.take_right(frame.u(50)), theme.accent, "case",
             Side::right);
  put_line(lit || is_case ? frame.look.fonts.strong : frame.look.fonts.body, inner, theme.ink,
           entry.name);
  if (touched.pressed) frame.wish(wish_of_entry(sheet, entry));
}

std::string_view nothing_here(Wanted wanted) {
  if (wanted == Wanted::sounds) return "There are no folders and no recordings here.";
  if (wanted == Wanted::log) return "There are no folders and no text files here.";
  return "There are no folders here.";
}

/// The folder, to be typed or gone up from.
void put_path(Frame& frame, Area row, const Sheet& sheet) {
  const ButtonWords up{.label = "Up", .sign = Sign::back};
  if (button(frame, "place.up", row.take_left(button_width(frame, up), frame.u(8)), up))
    frame.wish(LookInto{sheet.place.folder.parent_path()});
  const Typed typed = text_field(
      frame, "place.path", row,
      {.text = field(sheet.typed, "path"), .hint = "the folder's path", .longest = 4000});
  if (typed.changed) frame.wish(TypeInto{"path", typed.text});
  if (typed.finished && typed.text != sheet.place.folder.string()) frame.wish(LookInto{typed.text});
}

}  // namespace

void put_chooser(Frame& frame, const Area& area, const Sheet& sheet) {
  Area rest = area;
  put_path(frame, rest.take_top(frame.u(kTouch), frame.u(10)), sheet);
  const Place& place = sheet.place;
  if (!place.fault.empty())
    return nothing_to_show(frame, rest, "This folder cannot be looked into: " + place.fault);
  if (place.entries.empty()) return nothing_to_show(frame, rest, nothing_here(sheet.wanted));
  scrolled(frame, "place." + place.folder.string(), rest, [&](Area& rows) {
    for (const PlaceEntry& entry : place.entries)
      put_entry(frame, sheet, entry, rows.take_top(frame.u(kTouch), frame.u(2)));
    if (place.left_out > 0)
      rows.take_top(
          put_paragraph(frame.look.fonts.note, rows, frame.theme().warn,
                        fmt::format("{} more are not shown: type the path.", place.left_out)));
  });
}

}  // namespace howl::desk
