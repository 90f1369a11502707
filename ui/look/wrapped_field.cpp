#include "ui/look/wrapped_field.h"

#include <algorithm>
#include <string_view>

#include "ui/look/shapes.h"
#include "ui/look/text.h"
#include "ui/look/wrapped_lines.h"

namespace howl::desk {
namespace {

/// What the typing needs to know of how its text is broken, and tells of its cursor.
struct Typing {
  const ImFont* font{};
  Area field;
  Area text;     ///< where it stands
  float line{};  ///< height of one
  int cursor{};  ///< kept from frame to frame
  int anchor{};  ///< where the mouse was pressed
  int selected_from{};
  int selected_to{};
  bool open{};
};

enum class LineKey { none, up, down, home, end };

bool is_pressed(ImGuiKey key) {
#if IMGUI_VERSION_NUM >= 18700
  return ImGui::IsKeyPressed(key);
#else
  return ImGui::IsKeyPressed(ImGui::GetKeyIndex(key));
#endif
}

LineKey line_key() {
  if (ImGui::GetIO().KeyCtrl) return LineKey::none;
  if (is_pressed(ImGuiKey_UpArrow)) return LineKey::up;
  if (is_pressed(ImGuiKey_DownArrow)) return LineKey::down;
  if (is_pressed(ImGuiKey_Home)) return LineKey::home;
  return is_pressed(ImGuiKey_End) ? LineKey::end : LineKey::none;
}

float place_of(const Typing& typing, std::string_view text, const LineSpan& line, std::size_t at) {
  return text_width(typing.font, text.substr(line.from, at - line.from));
}

/// Where a key that goes by lines leads to from `at`: by those that are seen.
std::size_t led_by(LineKey key, const Typing& typing, std::string_view text, std::size_t at) {
  const std::vector<LineSpan> lines = wrapped_lines(typing.font, typing.text.w, text);
  const std::size_t now = line_of(lines, at);
  const float x = place_of(typing, text, lines[now], at);
  if (key == LineKey::home) return lines[now].from;
  if (key == LineKey::end) return place_in_line(typing.font, text, lines[now], 1e6F);
  if (key == LineKey::up) return now == 0 ? 0 : place_in_line(typing.font, text, lines[now - 1], x);
  return now + 1 == lines.size() ? text.size()
                                 : place_in_line(typing.font, text, lines[now + 1], x);
}

std::size_t place_under_mouse(const Typing& typing, std::string_view text) {
  const std::vector<LineSpan> lines = wrapped_lines(typing.font, typing.text.w, text);
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  const float row = std::max(0.0F, (mouse.y - typing.text.y) / typing.line);
  const std::size_t line = std::min(static_cast<std::size_t>(row), lines.size() - 1);
  return place_in_line(typing.font, text, lines[line], mouse.x - typing.text.x);
}

/// Dear ImGui goes by the lines that it knows; here by those that are seen.
int follow_lines(ImGuiInputTextCallbackData* data) {
  Typing& typing = *static_cast<Typing*>(data->UserData);
  const std::string_view text(data->Buf, static_cast<std::size_t>(data->BufTextLen));
  const ImGuiIO& io = ImGui::GetIO();
  const LineKey key = line_key();
  const auto last = static_cast<std::size_t>(std::clamp(typing.cursor, 0, data->BufTextLen));
  if (io.MouseDown[0] && typing.field.contains(io.MouseClickedPos[0])) {
    const auto at = static_cast<int>(place_under_mouse(typing, text));
    if (ImGui::IsMouseClicked(0)) typing.anchor = at;
    data->CursorPos = data->SelectionEnd = at;
    data->SelectionStart = std::clamp(typing.anchor, 0, data->BufTextLen);
  } else if (key != LineKey::none) {
    const int from = io.KeyShift
                         ? (data->SelectionStart == data->SelectionEnd ? static_cast<int>(last)
                                                                       : data->SelectionStart)
                         : -1;
    data->CursorPos = static_cast<int>(led_by(key, typing, text, last));
    data->SelectionEnd = data->CursorPos;
    data->SelectionStart = from < 0 ? data->CursorPos : from;
  }
  typing.cursor = data->CursorPos;
  typing.selected_from = std::min(data->SelectionStart, data->SelectionEnd);
  typing.selected_to = std::max(data->SelectionStart, data->SelectionEnd);
  typing.open = true;
  return 0;
}

void draw_lines(const Frame& frame, ImFont* font, const Typing& typing, std::string_view text) {
  const std::vector<LineSpan> lines = wrapped_lines(font, typing.text.w, text);
  const auto cursor = static_cast<std::size_t>(std::max(0, typing.cursor));
  const std::size_t cursor_line = line_of(lines, std::min(cursor, text.size()));
  float y = typing.text.y;
  for (std::size_t i = 0; i < lines.size(); ++i, y += typing.line) {
    const LineSpan& line = lines[i];
    const auto within = [&](int at) {
      return std::clamp(static_cast<std::size_t>(std::max(0, at)), line.from, line.to);
    };
    const float from = place_of(typing, text, line, within(typing.selected_from));
    const float to = place_of(typing, text, line, within(typing.selected_to));
    if (typing.open && to > from)
      fill({typing.text.x + from, y, to - from, typing.line}, frame.theme().lit);
    put_text(font, {typing.text.x, y + (typing.line - font->FontSize) / 2}, frame.theme().ink,
             text.substr(line.from, line.to - line.from));
    if (!typing.open || i != cursor_line) continue;
    const float x = typing.text.x + place_of(typing, text, line, within(typing.cursor));
    hairline({x, y + frame.u(1)}, {x, y + typing.line - frame.u(1)}, frame.theme().ink,
             frame.u(1.3F));
  }
}

}  // namespace

float wrapped_height(const Frame& frame, float width, std::string_view text) {
  ImFont* const font = frame.look.fonts.body;
  const auto lines = wrapped_lines(font, width - frame.u(2 * kFieldPad), text).size();
  return static_cast<float>(lines) * line_height(font) + frame.u(2 * kFieldPad);
}

bool wrapped_input(Frame& frame, const char* id, std::vector<char>& typed, const Area& area) {
  ImFont* const font = frame.look.fonts.body;
  ImGuiStorage& storage = *ImGui::GetStateStorage();
  const std::string name(id);
  const ImGuiID cursor_key = ImGui::GetID((name + ".cursor").c_str());
  const ImGuiID anchor_key = ImGui::GetID((name + ".anchor").c_str());
  Typing typing{.font = font,
                .field = area,
                .text = area.inset(frame.u(kFieldPad)),
                .line = line_height(font),
                .cursor = storage.GetInt(cursor_key),
                .anchor = storage.GetInt(anchor_key)};
  fill(area, frame.theme().raised, frame.u(6));
  for (const ImGuiCol colour :
       {ImGuiCol_FrameBg, ImGuiCol_Text, ImGuiCol_TextSelectedBg, ImGuiCol_ScrollbarBg,
        ImGuiCol_ScrollbarGrab, ImGuiCol_ScrollbarGrabHovered, ImGuiCol_ScrollbarGrabActive})
    ImGui::PushStyleColor(colour, 0U);
  const bool changed =
      ImGui::InputTextMultiline(id, typed.data(), typed.size(), area.size(),
                                ImGuiInputTextFlags_CallbackAlways, follow_lines, &typing);
  ImGui::PopStyleColor(7);
  storage.SetInt(cursor_key, typing.cursor);
  storage.SetInt(anchor_key, typing.anchor);
  draw_lines(frame, font, typing, typed.data());
  return changed;
}

}  // namespace howl::desk
