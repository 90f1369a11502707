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

void put_line(ImFont* font, const Area& area, ImU32 colour, std::string_view text, Side side) {
  const std::string shown =
      text_width(font, text) <= area.w
          ? std::string(text)
          : picture::elided(text, static_cast<double>(area.w), measure_with(font));
  const float y = area.y + (area.h - font->FontSize) / 2;
  const float x = side == Side::left     ? area.x
                  : side == Side::centre ? area.x + area.w / 2
                                         : area.right();
  put_text(font, {x, y}, colour, shown, side);
}

float put_paragraph(ImFont* font, const Area& area, ImU32 colour, std::string_view text) {
  const float line = line_height(font);
  const auto most = static_cast<std::size_t>(std::max(1.0F, std::floor(area.h / line + 0.2F)));
  float y = area.y;
  for (const std::string& each : lines_of(font, area.w, most, text)) {
    put_text(font, {area.x, y + (line - font->FontSize) / 2}, colour, each);
    y += line;
  }
  return y - area.y;
}

float paragraph_height(ImFont* font, float width, std::string_view text) {
  return line_height(font) * static_cast<float>(lines_of(font, width, 400, text).size());
}

}  // namespace howl::desk
