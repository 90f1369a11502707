#include "ui/panels/band_tools.h"

#include <string>

#include "src/report/number_text.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

std::string band_label(const DeskState& state) {
  return band_in_use(state) ? band_words(state) : "Give a band";
}

void put_opening(Frame& frame, const Area& area, std::string_view label) {
  if (button(frame, "band.type", area, {.label = label}))
    frame.wish(BeginSheet{.kind = SheetKind::band});
}

}  // namespace

float band_tools_least(const Frame& frame) {
  return can_mark_band(frame.state) ? button_width(frame, {.label = "Band"}) + frame.u(10) : 0;
}

void put_band_tools(Frame& frame, Area& area) {
  if (!can_mark_band(frame.state)) return;
  const bool armed = frame.state.view.mark_band;
  std::string label = band_label(frame.state);
  const float wide = button_width(frame, {.label = "Mark a band"});
  // The band itself stands in the plots, where its name is too long.
  if (area.w < wide + button_width(frame, {.label = label}) + frame.u(20)) label = "Band";
  const float told = button_width(frame, {.label = label});
  // With little room both are in the sheet.
  if (area.w < wide + told + frame.u(20)) return put_opening(frame, area.take_left(told), "Band");
  const ButtonWords mark{.label = armed ? "Drag over it" : "Mark a band", .on = armed};
  if (button(frame, "band.mark", area.take_left(wide, frame.u(10)), mark))
    frame.wish(ArmBandMark{!armed});
  put_opening(frame, area.take_left(told, frame.u(10)), label);
}

void put_band_button(Frame& frame, Area& area) {
  if (!can_mark_band(frame.state)) return;
  const std::string_view label = band_in_use(frame.state) ? "Another band" : "Give a band";
  put_opening(frame, area.take_right(button_width(frame, {.label = label}), frame.u(10)), label);
}

bool mark_band(Frame& frame, const Touch& touched, std::string_view plot,
               AnalysisRequest::Band::Unit unit, double value) {
  const auto& mark = frame.state.view.marking;
  const bool ours = mark && mark->plot == plot;
  if (ours && !touched.held) {
    frame.wish(DropBandMark{});
    return true;
  }
  if (!touched.held) return false;
  if (ours) {
    frame.wish(DragBandMark{{std::string(plot), unit, mark->from, value}});
    return true;
  }
  const bool wanted = frame.state.view.mark_band || ImGui::GetIO().KeyShift;
  if (!wanted || !ImGui::IsMouseClicked(0) || !can_mark_band(frame.state)) return false;
  frame.wish(DragBandMark{{std::string(plot), unit, value, value}});
  return true;
}

void put_marked_band(Frame& frame, const Area& box, const Area& marked) {
  const ImU32 accent = frame.theme().accent;
  fill(marked, faded(accent, 0.3F));
  outline(marked, accent, 0, frame.u(1.5F));
  if (const auto band = band_of(*frame.state.view.marking))
    put_tag(frame, box, {marked.x + frame.u(8), marked.y + frame.u(24)}, band_text(*band), accent);
}

}  // namespace howl::desk
