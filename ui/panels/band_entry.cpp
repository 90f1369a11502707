#include <algorithm>
#include <array>
#include <string>

#include "ui/look/widgets.h"
#include "ui/panels/sheet_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

/// What is used now, and what can be done but typing: marking, and what the program finds again.
void put_band_now(Frame& frame, Area& rest) {
  const Area row = sheet_row(frame, rest, "Used now");
  put_line(frame.look.fonts.strong, row, frame.theme().ink, band_words(frame.state));
  Area ways = sheet_row(frame, rest, "");
  const ButtonWords mark{.label = "Mark it with the mouse"};
  if (button(frame, "sheet.mark", ways.take_left(button_width(frame, mark), frame.u(10)), mark)) {
    frame.wish(CloseSheet{});
    frame.wish(GoTo{Step::listen});
    frame.wish(ArmBandMark{true});
  }
  if (!frame.state.request.band) return;
  const ButtonWords found{.label = "Use the found band again", .sign = Sign::back};
  if (!button(frame, "sheet.found", ways.take_left(button_width(frame, found)), found)) return;
  frame.wish(CloseSheet{});
  frame.wish(SetBand{});
}

}  // namespace

void put_band_entry(Frame& frame, const Area& area, const Sheet& sheet) {
  constexpr std::array<std::string_view, 2> units{"Hz", "orders"};
  const bool in_orders = field(sheet.typed, "unit") == "orders";
  scrolled(frame, "sheet.band", area, [&](Area& rows) {
    rows.w = std::min(rows.w, frame.u(560));
    rows.take_top(put_paragraph(frame.look.fonts.body, rows, frame.theme().quiet,
                                "Where the complaint lies. The points are compared in this band. "
                                "One in orders follows the engine's speed; one in Hz stays."),
                  frame.u(14));
    put_band_now(frame, rows);
    const Area row = sheet_row(frame, rows, "In");
    if (const auto pressed = choice(frame, "sheet.unit", row, units, in_orders ? 1 : 0))
      frame.wish(TypeInto{"unit", *pressed == 1 ? "orders" : "hz"});
    put_field(frame, rows, sheet, "From", "low", in_orders ? "9.5" : "300",
              ImGui::IsWindowAppearing());
    put_field(frame, rows, sheet, "To", "high", in_orders ? "10.5" : "400");
  });
}

}  // namespace howl::desk
