#include "ui/panels/pins.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "src/report/words.h"
#include "ui/look/text_field.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/tone_lines.h"
#include "ui/state/desk.h"
#include "ui/state/pins.h"

namespace howl::desk {
namespace {

constexpr float kReach = 13;  // layout units about the middle of a pin

/// In the unit of the plot's vertical axis; none where it needs a speed that is not known.
std::optional<double> row_of(const PinnedNote& note, const TakeSound& sound, bool as_order) {
  if (as_order == note.order.has_value()) return as_order ? note.order : note.frequency_hz;
  const auto rpm = rpm_at(sound, note.time_s);
  if (!rpm) return std::nullopt;
  return as_order ? 60 * note.frequency_hz.value_or(0) / *rpm : note.order.value_or(0) * *rpm / 60;
}

std::optional<ImVec2> place_of(const Plot& plot, const PinnedNote& note, const TakeSound& sound,
                               bool as_order) {
  const auto row = row_of(note, sound, as_order);
  if (!row) return std::nullopt;
  const ImVec2 at = plot.at(note.time_s, *row);
  return plot.box.contains(at) ? std::optional(at) : std::nullopt;
}

/// Where the mouse has dragged it to, in its own unit.
void drop_at(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order,
             std::size_t index) {
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  if (!plot.box.contains(mouse)) return;
  PinnedNote dropped = frame.state.opened->pins[index];
  const bool of_order = dropped.order.has_value();
  dropped.time_s = plot.x_at(mouse.x);
  (as_order ? dropped.order : dropped.frequency_hz) = plot.y_at(mouse.y);
  if (as_order != of_order) (of_order ? dropped.order : dropped.frequency_hz).reset();
  if (const auto value = row_of(dropped, sound, of_order))
    frame.wish(MovePin{index, dropped.time_s, *value});
}

std::string pin_name(std::size_t index) { return fmt::format("pin.{}", index + 1); }

bool was_dragged() {
  const ImGuiIO& io = ImGui::GetIO();
  return io.MouseDragMaxDistanceSqr[0] > io.MouseDragThreshold * io.MouseDragThreshold;
}

constexpr float kRadius = 11;  // layout units, of the disc with a pin's number

/// Beside the pin, where there is more room for it; never over its number.
void put_text_of(Frame& frame, const Plot& plot, std::size_t index, ImVec2 at, bool picked) {
  const PinnedNote& note = frame.state.opened->pins[index];
  if (note.text.empty()) return;
  ImFont* const font = frame.look.fonts.label;
  const auto measure = [&](std::string_view text) {
    return static_cast<double>(text_width(font, text));
  };
  const float pad = frame.u(6);
  const float away = frame.u(kRadius + 4);
  const float right = plot.box.right() - at.x - away - 2 * pad;
  const float left = at.x - away - plot.box.x - 2 * pad;
  const float wanted = std::min(text_width(font, note.text) + 1, frame.u(picked ? 420 : 260));
  const bool on_right = right >= wanted || right >= left;
  const float room = std::min(wanted, on_right ? right : left);
  const float line = line_height(font);
  const auto most = static_cast<std::size_t>(std::max(1.0F, (plot.box.h - 2 * pad) / line));
  const std::vector<std::string> lines =
      picture::wrapped(note.text, static_cast<double>(room), picked ? most : 1, measure);
  float width = 0;
  for (const std::string& text : lines) width = std::max(width, text_width(font, text));
  Area plate{0, 0, width + 2 * pad, line * static_cast<float>(lines.size()) + pad};
  plate.x = on_right ? at.x + away : at.x - away - plate.w;
  plate.y =
      std::clamp(at.y - plate.h / 2, plot.box.y, std::max(plot.box.y, plot.box.bottom() - plate.h));
  frame.targets.insert_or_assign(fmt::format("words.pin.{}", index + 1), plate);
  fill(plate, frame.theme().card, frame.u(4));
  outline(plate, frame.theme().rule, frame.u(4));
  Area inner = plate.inset(pad, pad / 2);
  for (const std::string& text : lines)
    put_text(font, inner.take_top(line).from(), frame.theme().ink, text);
}

void put_disc(Frame& frame, ImVec2 at, std::size_t index, bool picked) {
  const Theme& theme = frame.theme();
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float radius = frame.u(kRadius);
  list.AddCircleFilled(at, radius + frame.u(1.5F), theme.card);
  list.AddCircleFilled(at, radius, picked ? theme.accent : theme.ink);
  put_line(frame.look.fonts.label, {at.x - radius, at.y - radius, 2 * radius, 2 * radius},
           picked ? theme.on_accent : theme.card, fmt::format("{}", index + 1), Side::centre);
}

void put_text_of_picked(Frame& frame, const Area& area, std::size_t index) {
  const bool begin = frame.state.view.write_pin;
  if (begin) frame.wish(PickPin{index});
  ImGui::PushID(static_cast<int>(index));  // each note has a field of its own
  const Typed typed =
      text_field(frame, "pin.text", area,
                 {.text = frame.state.view.pin_draft.value_or(frame.state.opened->pins[index].text),
                  .longest = PinnedNote::longest,
                  .begin = begin});
  ImGui::PopID();
  if (typed.changed) frame.wish(TypePin{typed.text});
  if (typed.finished) frame.wish(WritePin{index, typed.text});
}

constexpr float kEditorPad = 10;

}  // namespace

std::optional<std::size_t> act_on_pins(Frame& frame, const Plot& plot, const TakeSound& sound,
                                       bool as_order) {
  std::optional<std::size_t> dragged;
  for (const std::size_t index : shown_pins(frame.state)) {
    const auto at = place_of(plot, frame.state.opened->pins[index], sound, as_order);
    if (!at) continue;
    const float reach = frame.u(kReach);
    const Touch touched =
        touch(frame, pin_name(index), {at->x - reach, at->y - reach, 2 * reach, 2 * reach});
    if (touched.held && was_dragged()) dragged = index;
    if (ImGui::IsItemDeactivated() && was_dragged())
      drop_at(frame, plot, sound, as_order, index);
    else if (touched.pressed)
      frame.wish(PickPin{index});
  }
  return dragged;
}

void put_pins(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order,
              std::optional<std::size_t> dragged) {
  for (const std::size_t index : shown_pins(frame.state)) {
    const auto at = index == dragged
                        ? std::optional(ImGui::GetIO().MousePos)
                        : place_of(plot, frame.state.opened->pins[index], sound, as_order);
    if (!at) continue;
    const bool picked = frame.state.view.pin == index;
    put_text_of(frame, plot, index, *at, picked);
    put_disc(frame, *at, index, picked);
  }
}

float pin_editor_height(const Frame& frame) { return frame.u(2 * kTouch + 8 + 2 * kEditorPad); }

void put_pin_editor(Frame& frame, const Area& place) {
  Area area = place;
  area = area.take_top(pin_editor_height(frame));
  const std::size_t index = *frame.state.view.pin;
  fill(area, frame.theme().card, frame.u(10));
  outline(area, frame.theme().accent, frame.u(10), frame.u(1.3F));
  Area inner = area.inset(frame.u(kEditorPad));
  Area row = inner.take_top(frame.u(kTouch), frame.u(8));
  put_disc(frame, row.take_left(frame.u(26), frame.u(8)).centre(), index, true);
  put_text_of_picked(frame, row, index);
  if (button(frame, "pin.close", inner.take_right(frame.u(kTouch)),
             {.label = "", .sign = Sign::cross, .look = ButtonLook::bare}))
    frame.wish(PickPin{});
  const ButtonWords drop{.label = "Drop"};
  if (button(frame, "pin.drop", inner.take_left(button_width(frame, drop), frame.u(8)), drop))
    frame.wish(DropPin{index});
  const ButtonWords undo{.label = "Undo", .enabled = !frame.state.opened->pins_before.empty()};
  if (button(frame, "pin.undo", inner.take_left(button_width(frame, undo)), undo))
    frame.wish(UndoPins{});
  frame.targets.insert_or_assign("pin.editor", area);
}

}  // namespace howl::desk
