#include "ui/look/shapes.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace howl::desk {
namespace {

ImDrawList& drawing() { return *ImGui::GetWindowDrawList(); }

struct Pen {
  ImVec2 centre;
  float size;  // half the side
  ImU32 colour;
  float width;

  ImVec2 at(float x, float y) const { return {centre.x + x * size, centre.y + y * size}; }
  void line(std::initializer_list<ImVec2> points) const {
    for (const ImVec2& p : points) drawing().PathLineTo(at(p.x, p.y));
    drawing().PathStroke(colour, ImDrawFlags_None, width);
  }
};

void warning_sign(const Pen& pen) {
  drawing().AddTriangle(pen.at(0, -0.78F), pen.at(0.88F, 0.72F), pen.at(-0.88F, 0.72F), pen.colour,
                        pen.width);
  pen.line({{0, -0.25F}, {0, 0.24F}});
  drawing().AddCircleFilled(pen.at(0, 0.48F), pen.width * 0.62F, pen.colour);
}

void sun_sign(const Pen& pen) {
  drawing().AddCircle(pen.centre, pen.size * 0.4F, pen.colour, 0, pen.width);
  for (int i = 0; i < 8; ++i) {
    const float angle = std::numbers::pi_v<float> * static_cast<float>(i) / 4;
    const float x = std::cos(angle);
    const float y = std::sin(angle);
    pen.line({{0.66F * x, 0.66F * y}, {0.92F * x, 0.92F * y}});
  }
}

/// What one circle leaves of another that it covers in part.
void moon_sign(const Pen& pen) {
  constexpr float pi = std::numbers::pi_v<float>;
  constexpr float outer = 0.78F;
  constexpr float inner = 0.64F;
  const ImVec2 shift{0.36F, -0.3F};
  const float away = std::hypot(shift.x, shift.y);
  const float toward = std::atan2(shift.y, shift.x);
  const float wide = std::acos((away * away + outer * outer - inner * inner) / (2 * away * outer));
  const float narrow =
      std::acos((away * away + inner * inner - outer * outer) / (2 * away * inner));
  drawing().PathArcTo(pen.centre, pen.size * outer, toward + wide, toward - wide + 2 * pi, 28);
  drawing().PathArcTo(pen.at(shift.x, shift.y), pen.size * inner, toward + pi + narrow,
                      toward + pi - narrow, 20);
  drawing().PathStroke(pen.colour, ImDrawFlags_Closed, pen.width);
}

void folder_sign(const Pen& pen) {
  for (const ImVec2 p : {ImVec2{-0.85F, 0.62F}, ImVec2{-0.85F, -0.6F}, ImVec2{-0.3F, -0.6F},
                         ImVec2{-0.08F, -0.34F}, ImVec2{0.85F, -0.34F}, ImVec2{0.85F, 0.62F}})
    drawing().PathLineTo(pen.at(p.x, p.y));
  drawing().PathStroke(pen.colour, ImDrawFlags_Closed, pen.width);
}

void play_sign(const Pen& pen) {
  drawing().AddTriangleFilled(pen.at(-0.5F, -0.72F), pen.at(0.76F, 0), pen.at(-0.5F, 0.72F),
                              pen.colour);
}

void loop_sign(const Pen& pen) {
  constexpr float pi = std::numbers::pi_v<float>;
  drawing().PathArcTo(pen.centre, pen.size * 0.66F, -0.15F * pi, 1.45F * pi, 28);
  drawing().PathStroke(pen.colour, ImDrawFlags_None, pen.width);
  drawing().AddTriangleFilled(pen.at(-0.3F, -1.0F), pen.at(0.34F, -0.6F), pen.at(-0.3F, -0.2F),
                              pen.colour);
}

/// The four corners of a frame about all there is.
void whole_sign(const Pen& pen) {
  for (const float x : {-1.0F, 1.0F})
    for (const float y : {-1.0F, 1.0F})
      pen.line({{0.8F * x, 0.25F * y}, {0.8F * x, 0.66F * y}, {0.35F * x, 0.66F * y}});
}

/// An arrow that goes back along a bow; `side` −1 to the left, 1 to the right.
void bow_sign(const Pen& pen, float side) {
  constexpr float pi = std::numbers::pi_v<float>;
  const ImVec2 centre = pen.at(0.06F * side, 0.22F);
  const float from = side < 0 ? -0.95F * pi : -0.05F * pi;
  const float to = side < 0 ? 0.3F * pi : -1.3F * pi;
  drawing().PathArcTo(centre, pen.size * 0.6F, from, to, 24);
  drawing().PathStroke(pen.colour, ImDrawFlags_None, pen.width);
  drawing().AddTriangleFilled(pen.at(0.95F * side, 0.02F), pen.at(0.2F * side, 0.02F),
                              pen.at(0.56F * side, 0.62F), pen.colour);
}

void copy_sign(const Pen& pen) {
  for (const float by : {-0.2F, 0.2F})
    drawing().AddRect(pen.at(by - 0.46F, by - 0.56F), pen.at(by + 0.46F, by + 0.56F), pen.colour,
                      0.12F * pen.size, ImDrawFlags_None, pen.width);
}

/// A framed landscape: what a picture is everywhere.
void picture_sign(const Pen& pen) {
  drawing().AddRect(pen.at(-0.85F, -0.66F), pen.at(0.85F, 0.66F), pen.colour, 0.12F * pen.size,
                    ImDrawFlags_None, pen.width);
  pen.line({{-0.6F, 0.4F}, {-0.15F, -0.15F}, {0.15F, 0.18F}, {0.36F, -0.05F}, {0.62F, 0.4F}});
}

void screen_sign(const Pen& pen) {
  drawing().AddRect(pen.at(-0.85F, -0.7F), pen.at(0.85F, 0.32F), pen.colour, 0.1F * pen.size,
                    ImDrawFlags_None, pen.width);
  pen.line({{-0.5F, 0.8F}, {0, 0.34F}, {0.5F, 0.8F}});
}

}  // namespace

void fill(const Area& area, ImU32 colour, float rounding) {
  drawing().AddRectFilled(area.from(), area.to(), colour, rounding);
}

void outline(const Area& area, ImU32 colour, float rounding, float thickness) {
  const Area inner = area.inset(thickness / 2);
  drawing().AddRect(inner.from(), inner.to(), colour, rounding, ImDrawFlags_None, thickness);
}

void hairline(ImVec2 from, ImVec2 to, ImU32 colour, float thickness) {
  drawing().AddLine(from, to, colour, thickness);
}

void put_sign(const Area& area, Sign sign, ImU32 colour) {
  const float half = std::min(area.w, area.h) / 2;
  const Pen pen{area.centre(), half, colour, std::max(1.6F, half * 0.19F)};
  switch (sign) {
    case Sign::tick:
      return pen.line({{-0.62F, 0.02F}, {-0.16F, 0.5F}, {0.68F, -0.5F}});
    case Sign::warning:
      return warning_sign(pen);
    case Sign::circle:
      return drawing().AddCircle(pen.centre, half * 0.62F, colour, 0, pen.width);
    case Sign::sun:
      return sun_sign(pen);
    case Sign::moon:
      return moon_sign(pen);
    case Sign::cross:
      pen.line({{-0.55F, -0.55F}, {0.55F, 0.55F}});
      return pen.line({{-0.55F, 0.55F}, {0.55F, -0.55F}});
    case Sign::next:
      return pen.line({{-0.25F, -0.55F}, {0.3F, 0}, {-0.25F, 0.55F}});
    case Sign::back:
      return pen.line({{0.25F, -0.55F}, {-0.3F, 0}, {0.25F, 0.55F}});
    case Sign::folder:
      return folder_sign(pen);
    case Sign::play:
      return play_sign(pen);
    case Sign::stop:
      return fill(Area{area.centre().x, area.centre().y, 0, 0}.inset(-0.6F * half), colour,
                  0.12F * half);
    case Sign::loop:
      return loop_sign(pen);
    case Sign::record:
      return drawing().AddCircleFilled(pen.centre, half * 0.62F, colour);
    case Sign::plus:
      pen.line({{0, -0.6F}, {0, 0.6F}});
      return pen.line({{-0.6F, 0}, {0.6F, 0}});
    case Sign::minus:
      return pen.line({{-0.6F, 0}, {0.6F, 0}});
    case Sign::whole:
      return whole_sign(pen);
    case Sign::undo:
      return bow_sign(pen, -1);
    case Sign::redo:
      return bow_sign(pen, 1);
    case Sign::copy:
      return copy_sign(pen);
    case Sign::picture:
      return picture_sign(pen);
    case Sign::screen:
      return screen_sign(pen);
  }
}

void put_meter(const Area& area, float share, ImU32 full, ImU32 empty) {
  const float rounding = area.h / 2;
  fill(area, empty, rounding);
  Area done = area;
  done.w = std::max(area.h, area.w * std::clamp(share, 0.0F, 1.0F));
  if (share > 0) fill(done, full, rounding);
}

}  // namespace howl::desk
