#include <fmt/format.h>

#include "ui/look/text_field.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/sheet_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr float kFieldNames = 132;
constexpr float kFieldGap = 8;

std::string title_of(const Sheet& sheet) {
  if (sheet.wanted == Wanted::log) return "Which file is the speed log?";
  switch (sheet.kind) {
    case SheetKind::open_case:
      return "Which case?";
    case SheetKind::new_case:
      return "A new case";
    case SheetKind::about:
      return "What a report says of the case";
    case SheetKind::add_takes:
      return sheet.wanted == Wanted::sounds ? "Which recordings?"
                                            : sheet.sounds.front().filename().string();
    case SheetKind::change_take:
      return "What is known of " + sheet.take;
    case SheetKind::demo_cases:
      return "In which folder shall the demo cases lie?";
    case SheetKind::band:
      return "The suspect band";
    case SheetKind::earlier_case:
      return "Which case is from before the repair?";
  }
  return {};
}

std::string remark_of(const Sheet& sheet) {
  if (sheet.kind == SheetKind::open_case || sheet.kind == SheetKind::earlier_case)
    return "press a folder that is marked as a case";
  if (sheet.kind == SheetKind::new_case && !sheet.sounds.empty())
    return fmt::format("then {} to add", sheet.sounds.size() == 1
                                             ? "a recording"
                                             : fmt::format("{} recordings", sheet.sounds.size()));
  if (sheet.kind == SheetKind::add_takes && sheet.sounds.size() + sheet.added > 1)
    return fmt::format("{} of {}", sheet.added + 1, sheet.added + sheet.sounds.size());
  return {};
}

/// What its main button does; an empty label where there is nothing to do yet.
ButtonWords main_words(const Sheet& sheet) {
  if (sheet.storing) return {.label = "Storing …", .look = ButtonLook::main, .enabled = false};
  if (sheet.wanted == Wanted::log) return {.label = ""};
  if (sheet.wanted == Wanted::sounds)
    return {
        .label = "Go on with these", .look = ButtonLook::main, .enabled = !sheet.chosen.empty()};
  switch (sheet.kind) {
    case SheetKind::open_case:
      return {.label = "Open this folder", .look = ButtonLook::main};
    case SheetKind::new_case:
      return {.label = "Begin the case", .look = ButtonLook::main};
    case SheetKind::add_takes:
      return {.label = "Add the take", .look = ButtonLook::main};
    case SheetKind::about:
    case SheetKind::change_take:
      return {.label = "Keep", .look = ButtonLook::main};
    case SheetKind::demo_cases:
      return {.label = "Make them here", .look = ButtonLook::main};
    case SheetKind::band:
      return {.label = "Use this band", .look = ButtonLook::main};
    case SheetKind::earlier_case:
      return {.label = "Compare with this folder", .look = ButtonLook::main};
  }
  return {};
}

void put_fault_line(Frame& frame, Area area, const Sheet& sheet) {
  if (sheet.fault.empty()) return;
  const float side = frame.u(20);
  const Area sign = area.take_left(side, frame.u(10));
  put_sign({sign.x, sign.y + frame.u(2), side, side}, Sign::warning, frame.theme().bad);
  area.take_top(put_paragraph(frame.look.fonts.strong, area, frame.theme().ink, sheet.fault));
  if (!sheet.remedy.empty())
    put_paragraph(frame.look.fonts.note, area, frame.theme().quiet, "To do: " + sheet.remedy);
}

float fault_height(const Frame& frame, float width, const Sheet& sheet) {
  if (sheet.fault.empty()) return 0;
  const float room = width - frame.u(30);
  return paragraph_height(frame.look.fonts.strong, room, sheet.fault) +
         paragraph_height(frame.look.fonts.note, room, "To do: " + sheet.remedy) + frame.u(10);
}

void put_foot(Frame& frame, Area foot, const Sheet& sheet) {
  const ButtonWords close{.label = sheet.wanted == Wanted::log ? "Back" : "Cancel",
                          .enabled = !sheet.storing};
  if (button(frame, "sheet.close", foot.take_left(button_width(frame, close)), close))
    frame.wish(CloseSheet{});
  const ButtonWords submit = main_words(sheet);
  if (!submit.label.empty()) {
    const Area place = foot.take_right(button_width(frame, submit) + frame.u(40), frame.u(12));
    if (button(frame, "sheet.submit", place, submit)) {
      if (sheet.wanted == Wanted::sounds)
        frame.wish(TakeChosen{});
      else
        frame.wish(SubmitSheet{});
    }
  }
  const ButtonWords skip{.label = "Leave it out"};
  if (sheet.kind == SheetKind::add_takes && sheet.wanted == Wanted::nothing && !sheet.storing &&
      button(frame, "sheet.skip", foot.take_right(button_width(frame, skip), frame.u(12)), skip))
    frame.wish(SkipSound{});
}

void put_content(Frame& frame, const Area& area, const Sheet& sheet) {
  if (sheet.kind == SheetKind::earlier_case) return put_earlier_case(frame, area, sheet);
  if (sheet.wanted != Wanted::nothing) return put_chooser(frame, area, sheet);
  switch (sheet.kind) {
    case SheetKind::open_case:
    case SheetKind::demo_cases:
    case SheetKind::earlier_case:
      return put_chooser(frame, area, sheet);
    case SheetKind::new_case:
      return put_new_case(frame, area, sheet);
    case SheetKind::about:
      return put_about(frame, area, sheet);
    case SheetKind::add_takes:
    case SheetKind::change_take:
      return put_take_entry(frame, area, sheet);
    case SheetKind::band:
      return put_band_entry(frame, area, sheet);
  }
}

}  // namespace

Area sheet_row(Frame& frame, Area& rest, std::string_view name, float height) {
  Area row = rest.take_top(frame.u(height), frame.u(10));
  Area label = row.take_left(frame.u(kFieldNames), frame.u(kFieldGap));
  put_line(frame.look.fonts.label, label.take_top(frame.u(kTouch)), frame.theme().quiet, name);
  return row;
}

float sheet_field_width(const Frame& frame, float row) {
  return row - frame.u(kFieldNames + kFieldGap);
}

void put_field(Frame& frame, Area& rest, const Sheet& sheet, std::string_view label,
               std::string_view name, std::string_view hint, bool begin) {
  const Area row = sheet_row(frame, rest, label);
  const Typed typed = text_field(frame, "sheet." + std::string(name), row,
                                 {.text = field(sheet.typed, name), .hint = hint, .begin = begin});
  if (typed.changed) frame.wish(TypeInto{std::string(name), typed.text});
}

void draw_sheet(Frame& frame, const Area& window, const Area& view) {
  if (!frame.state.sheet) return;
  const Sheet& sheet = *frame.state.sheet;
  on_top(frame, "sheet", window, [&] {
    // Nothing else can be pressed, or walked to, until it is closed.
    fill(window, faded(frame.theme().ground, 0.6F));
    fill(view, frame.theme().ground);
    Area inner = card(frame, view, title_of(sheet), remark_of(sheet));
    const Area foot = inner.take_bottom(frame.u(52), frame.u(12));
    if (const float height = fault_height(frame, inner.w, sheet); height > 0)
      put_fault_line(frame, inner.take_bottom(height), sheet);
    // Keys come to what is filled in first.
    put_content(frame, inner, sheet);
    put_foot(frame, foot, sheet);
  });
}

}  // namespace howl::desk
