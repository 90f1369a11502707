#include <algorithm>
#include <cmath>

#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/band_tools.h"
#include "ui/panels/parts.h"
#include "ui/panels/pins.h"
#include "ui/panels/sound_map.h"
#include "ui/panels/sound_panels.h"
#include "ui/panels/tone_lines.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/shown_sound.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

struct MapMoves {
  Interval time;
  PlotRows rows;
};

void wheel(Frame& frame, const Plot& plot, const TakeSound& sound, const MapMoves& moves,
           bool as_order, ImVec2 mouse) {
  const ImGuiIO& io = ImGui::GetIO();
  SoundView view = frame.state.view.sound;
  const double factor = std::pow(0.8, static_cast<double>(io.MouseWheel));
  if (io.KeyShift || io.KeyCtrl) {
    set_rows(
        view, as_order,
        zoomed(moves.rows.shown, factor, plot.y_at(mouse.y), moves.rows.least, moves.rows.whole));
  } else if (io.MouseWheel != 0) {
    view = zoomed_time(view, sound.seconds, factor, plot.x_at(mouse.x));
  }
  if (io.MouseWheelH != 0)
    view = moved_time(view, sound.seconds, -0.1 * static_cast<double>(io.MouseWheelH));
  frame.wish(SetSound{view});
}

void pan(Frame& frame, const Plot& plot, const TakeSound& sound, const MapMoves& moves,
         bool as_order) {
  const ImVec2 by = ImGui::GetIO().MouseDelta;
  if (by.x == 0 && by.y == 0) return;
  SoundView view = frame.state.view.sound;
  const double dt = -static_cast<double>(by.x / plot.box.w) * moves.time.width();
  const double dy = static_cast<double>(by.y / plot.box.h) * moves.rows.shown.width();
  if (view.time_s)
    view.time_s = kept_inside({moves.time.low + dt, moves.time.high + dt}, sound.seconds);
  set_rows(view, as_order,
           kept_inside({moves.rows.shown.low + dy, moves.rows.shown.high + dy}, moves.rows.whole));
  frame.wish(SetSound{view});
}

/// The frequency at the mouse's height, at a time; none in an order map where the speed is not
/// known.
std::optional<double> hz_at(const Plot& plot, const TakeSound& sound,
                            const std::optional<double>& time_s, ImVec2 mouse, bool as_order) {
  if (!time_s) return std::nullopt;
  if (!as_order) return plot.y_at(mouse.y);
  const auto rpm = rpm_at(sound, *time_s);
  return rpm ? std::optional(plot.y_at(mouse.y) * *rpm / 60) : std::nullopt;
}

/// The order under the mouse.
std::optional<double> order_at(const Plot& plot, const TakeSound& sound, ImVec2 mouse,
                               bool as_order) {
  const double value = plot.y_at(mouse.y);
  if (as_order) return value;
  const auto rpm = rpm_at(sound, plot.x_at(mouse.x));
  return rpm ? std::optional(60 * value / *rpm) : std::nullopt;
}

/// Whether a press near the line that is read, or a lit tone's, takes hold of it.
bool near_a_line(Frame& frame, const Plot& plot, const TakeSound& sound, ImVec2 mouse,
                 bool as_order) {
  const double time = plot.x_at(mouse.x);
  const auto rpm = rpm_at(sound, time);
  if (!rpm) return false;  // no line is drawn there
  const auto is_near = [&](double order) {
    const double value = as_order ? order : order * *rpm / 60;
    return std::abs(plot.at(time, value).y - mouse.y) < frame.u(9);
  };
  if (frame.state.view.read_order && is_near(*frame.state.view.read_order)) return true;
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr || !frame.state.view.selection.tone || is_answer_hidden(frame.state))
    return false;
  const ToneResult* const tone = find_tone(*analysis, *frame.state.view.selection.tone);
  return tone != nullptr && tone->order && is_near(*tone->order);
}

void act_on_map(Frame& frame, const Plot& plot, const TakeSound& sound, const MapMoves& moves,
                bool as_order) {
  const Touch touched = touch(frame, kMapName, plot.box);
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  const ImGuiIO& io = ImGui::GetIO();
  using Unit = AnalysisRequest::Band::Unit;
  if (mark_band(frame, touched, kMapName, as_order ? Unit::order : Unit::hertz,
                plot.y_at(std::clamp(mouse.y, plot.box.y, plot.box.bottom()))))
    return;
  // A mouse that only lies there leaves the cursor to the keys.
  if (touched.over && !touched.held && frame.mouse_moved) {
    SoundView view = frame.state.view.sound;
    // While it plays, the cursor is where it plays, and reads its frequency from the mouse.
    if (!frame.state.listen.at_s) view.cursor_s = plot.x_at(mouse.x);
    if (const auto hz = hz_at(plot, sound, view.cursor_s, mouse, as_order)) view.cursor_hz = hz;
    if (view != frame.state.view.sound) frame.wish(SetSound{view});
  }
  if (touched.over && !touched.held && (io.MouseWheel != 0 || io.MouseWheelH != 0))
    wheel(frame, plot, sound, moves, as_order, mouse);
  const bool grabbed = frame.state.view.line_grabbed;
  if (grabbed && !touched.held) frame.wish(GrabLine{false});
  if (!touched.held) return;
  const ImVec2 pressed_at = io.MouseClickedPos[0];
  if (ImGui::IsMouseClicked(0) && near_a_line(frame, plot, sound, pressed_at, as_order))
    return frame.wish(GrabLine{true});
  if (grabbed) {
    if (const auto order = order_at(plot, sound, mouse, as_order)) frame.wish(ReadOrder{order});
    return;
  }
  pan(frame, plot, sound, moves, as_order);
}

/// The band that is being dragged over.
void put_marking(Frame& frame, const Plot& plot) {
  const auto& mark = frame.state.view.marking;
  if (!mark || mark->plot != kMapName) return;
  const float top = plot.at(plot.x.low, std::max(mark->from, mark->to)).y;
  const float bottom = plot.at(plot.x.low, std::min(mark->from, mark->to)).y;
  put_marked_band(frame, plot.box, {plot.box.x, top, plot.box.w, bottom - top});
}

/// What it reads stands beside it, but not over the tones' names, which take `names` of the right.
void put_cursor(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order,
                float names) {
  const SoundView& view = frame.state.view.sound;
  if (const auto now = frame.state.listen.at_s) put_play_line(frame, plot.box, plot.at(*now, 0).x);
  if (!view.cursor_s) return;
  const auto rpm = rpm_at(sound, *view.cursor_s);
  const bool has_row = !as_order || rpm;
  if (has_row && !view.cursor_hz) return;
  const double value = !has_row   ? 0.5 * (plot.y.low + plot.y.high)
                       : as_order ? 60 * *view.cursor_hz / *rpm
                                  : *view.cursor_hz;
  const ImVec2 at = plot.at(*view.cursor_s, value);
  if (!plot.box.contains(at)) return;
  const ImU32 colour = faded(frame.theme().ink, 0.7F);
  hairline({at.x, plot.box.y}, {at.x, plot.box.bottom()}, colour);
  if (has_row) hairline({plot.box.x, at.y}, {plot.box.right(), at.y}, colour);
  Area room = plot.box;
  room.take_right(names, frame.u(4));
  put_tag(frame, room, {at.x + frame.u(10), at.y - frame.u(8)},
          cursor_words(sound, *view.cursor_s, value, as_order), frame.theme().ink);
}

}  // namespace

void put_sound_map(Frame& frame, const Area& area, const TakeSound& sound) {
  const PlotRows rows = rows_of(frame.state, sound, SoundPart::map);
  const bool as_order = rows.as_order;
  const Interval time = shown_time(frame.state, sound);
  const Plot plot = begin_plot(frame, area, {"Time", "s", time.low, time.high, false},
                               {as_order ? "Order" : "Frequency", as_order ? "" : "Hz",
                                rows.shown.low, rows.shown.high, false},
                               {.grid = false});
  if (as_order) frame.targets.insert_or_assign("sound.map.orders", plot.box);
  fill(plot.box, frame.theme().levels[0]);
  put_map(frame, plot, sound, as_order ? MapKind::orders : MapKind::spectrogram);
  const auto dragged_pin = act_on_pins(frame, plot, sound, as_order);
  act_on_map(frame, plot, sound, {time, rows}, as_order);
  const InsidePlot inside(plot);
  put_suspect_band(frame, plot, sound, as_order);
  const float names = put_tone_lines(frame, plot, sound, as_order);
  put_read_order(frame, plot, sound, as_order);
  put_marking(frame, plot);
  put_cursor(frame, plot, sound, as_order, names);
  put_pins(frame, plot, sound, as_order, dragged_pin);  // the cursor strikes no note through
}

}  // namespace howl::desk
