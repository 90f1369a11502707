#include "ui/look/text.h"

#include <algorithm>
#include <cfloat>
#include <cmath>
#include <vector>

#include "src/report/words.h"

namespace howl::desk {
namespace {

constexpr float kLeading = 1.36F;

picture::Measure measure_with(const ImFont* font) {
  return [font](std::string_view text) { return static_cast<double>(text_width(font, text)); };
}

std::vector<std::string> lines_of(const ImFont* font, float width, std::size_t most,
                                  std::string_view text) {
  return picture::wrapped(text, static_cast<double>(width), most, measure_with(font));
}

float edge_of(const Area& area, Side side) {
  if (side == Side::left) return area.x;
  return side == Side::centre ? area.x + area.w / 2 : area.right();
}

bool is_reached_by_keys(const Area& area) {
  const auto* const reached = static_cast<const ReachedByKeys*>(ImGui::GetIO().UserData);
  return reached != nullptr && reached->area && reached->area->contains(area.centre());
}

/// Below an area, or above it where the window ends.
ImVec2 place_beside(const Area& area, ImVec2 size, ImVec2 around) {
  const ImVec2 window = ImGui::GetIO().DisplaySize;
  const float high = size.y + 2 * around.y;
  const float gap = around.y;
  const float below = area.bottom() + gap;
  return {std::clamp(area.x, 0.0F, std::max(0.0F, window.x - size.x - 2 * around.x)),
          below + high <= window.y ? below : std::max(0.0F, area.y - gap - high)};
}

}  // namespace

std::string typeset(std::string_view text) {
  std::string set;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool before = i == 0 || text[i - 1] == ' ' || text[i - 1] == '(';
    const bool after = i + 1 < text.size() && text[i + 1] >= '0' && text[i + 1] <= '9';
    if (text[i] == '-' && before && after)
      set += "−";
    else
      set += text[i];
  }
  return set;
}

float text_width(const ImFont* font, std::string_view text) {
  return font->CalcTextSizeA(font->FontSize, FLT_MAX, 0.0F, text.data(), text.data() + text.size())
      .x;
}

float line_height(const ImFont* font) { return std::round(font->FontSize * kLeading); }

void put_text(ImFont* font, ImVec2 at, ImU32 colour, std::string_view text, Side side) {
  if (side != Side::left) {
    const float width = text_width(font, text);
    at.x -= side == Side::right ? width : width / 2;
  }
  ImGui::GetWindowDrawList()->AddText(font, font->FontSize, {std::round(at.x), std::round(at.y)},
                                      colour, text.data(), text.data() + text.size());
}

void tell_whole(ImFont* font, const Area& area, std::string_view text) {
  const bool by_mouse =
      ImGui::IsWindowHovered() && ImGui::IsMouseHoveringRect(area.from(), area.to());
  const bool by_keys = is_reached_by_keys(area);
  if (!by_mouse && !by_keys) return;
  const float size = font->FontSize;
  const float width = std::min(30 * size, text_width(font, text) + 1);
  const float height = paragraph_height(font, width, text);
  const ImVec2 around{0.7F * size, 0.5F * size};
  if (!by_mouse) ImGui::SetNextWindowPos(place_beside(area, {width, height}, around));
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, around);
  ImGui::BeginTooltip();
  const ImVec2 at = ImGui::GetCursorScreenPos();
  put_paragraph(font, {at.x, at.y, width, height + 1}, ImGui::GetColorU32(ImGuiCol_Text), text);
  ImGui::Dummy({width, height});
  ImGui::EndTooltip();
  ImGui::PopStyleVar();
}

void put_line(ImFont* font, const Area& area, ImU32 colour, std::string_view text, Side side) {
  const bool whole = text_width(font, text) <= area.w;
  const std::string shown =
      whole ? std::string(text)
            : picture::elided(text, static_cast<double>(area.w), measure_with(font));
  const float y = area.y + (area.h - font->FontSize) / 2;
  put_text(font, {edge_of(area, side), y}, colour, shown, side);
  if (!whole) tell_whole(font, area, text);
}

float put_paragraph(ImFont* font, const Area& area, ImU32 colour, std::string_view text,
                    Side side) {
  const float line = line_height(font);
  const auto most = static_cast<std::size_t>(std::max(1.0F, std::floor(area.h / line + 0.2F)));
  const std::vector<std::string> lines = lines_of(font, area.w, most, text);
  float y = area.y;
  for (const std::string& each : lines) {
    put_text(font, {edge_of(area, side), y + (line - font->FontSize) / 2}, colour, each, side);
    y += line;
  }
  const bool whole = lines.empty() || !lines.back().ends_with("…") || text.ends_with("…");
  if (!whole) tell_whole(font, {area.x, area.y, area.w, y - area.y}, text);
  return y - area.y;
}

float paragraph_height(ImFont* font, float width, std::string_view text) {
  return line_height(font) * static_cast<float>(lines_of(font, width, 400, text).size());
}

}  // namespace howl::desk
