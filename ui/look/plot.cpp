#include "ui/look/plot.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "ui/look/shapes.h"
#include "ui/look/text.h"

namespace howl::desk {
namespace {

picture::Scale pixel_scale(const PlotAxis& axis, float from, float to) {
  return picture::scale_of(axis, static_cast<double>(from), static_cast<double>(to));
}

float label_room(Frame& frame, const PlotAxis& axis, float height) {
  const auto scale = pixel_scale(axis, height, 0);
  const auto extent = [&](const std::string&) {
    return static_cast<double>(frame.look.fonts.note->FontSize);
  };
  float widest = 0;
  for (const auto& tick : labelled_ticks(scale, extent, frame.u(10), frame.u(34)))
    widest = std::max(widest, text_width(frame.look.fonts.note, tick.label));
  return widest + frame.u(10);
}

void put_x_ticks(Frame& frame, const Plot& plot, const PlotLook& look) {
  ImFont* const font = frame.look.fonts.note;
  const auto extent = [&](const std::string& label) {
    return static_cast<double>(text_width(font, label));
  };
  for (const auto& tick : labelled_ticks(plot.x, extent, frame.u(18), frame.u(50))) {
    const auto place = plot.x.position(tick.value);
    if (!place) continue;
    const auto x = std::round(static_cast<float>(*place));
    if (look.grid) hairline({x, plot.box.y}, {x, plot.box.bottom()}, frame.theme().grid);
    if (look.x_labels)
      put_text(font, {x, plot.box.bottom() + frame.u(5)}, frame.theme().quiet, tick.label,
               Side::centre);
  }
}

void put_y_ticks(Frame& frame, const Plot& plot, const PlotLook& look) {
  ImFont* const font = frame.look.fonts.note;
  const auto extent = [&](const std::string&) { return static_cast<double>(font->FontSize); };
  for (const auto& tick : labelled_ticks(plot.y, extent, frame.u(10), frame.u(34))) {
    const auto place = plot.y.position(tick.value);
    if (!place) continue;
    const auto y = std::round(static_cast<float>(*place));
    if (look.grid) hairline({plot.box.x, y}, {plot.box.right(), y}, frame.theme().grid);
    if (look.y_labels)
      put_text(font, {plot.box.x - frame.u(6), y - font->FontSize / 2}, frame.theme().quiet,
               tick.label, Side::right);
  }
}

}  // namespace

std::vector<picture::Tick> labelled_ticks(const picture::Scale& scale,
                                          const std::function<double(const std::string&)>& extent,
                                          double gap, double spacing) {
  std::vector<picture::Tick> ticks = picture::axis_ticks(scale, extent, gap, spacing);
  if (ticks.size() < 2) ticks = picture::axis_ticks(scale, extent, 0.2 * gap, 0);
  if (ticks.size() >= 2 || scale.logarithmic) return ticks;
  // The first and the last of the widest step that has two.
  const double span = scale.high - scale.low;
  for (double step = picture::nice_step(span); step > span / 50;
       step = picture::nice_step(step / 2.6)) {
    const auto all = picture::linear_ticks(scale.low, scale.high, step);
    if (all.size() < 2) continue;
    const double apart =
        std::abs(*scale.position(all.back().value) - *scale.position(all.front().value));
    if (apart >= (extent(all.front().label) + extent(all.back().label)) / 2)
      return {all.front(), all.back()};
  }
  return ticks;
}

ImVec2 Plot::at(double px, double py) const {
  const float nan = std::numeric_limits<float>::quiet_NaN();
  const auto across = x.position(px);
  const auto down = y.position(py);
  return {across ? static_cast<float>(*across) : nan, down ? static_cast<float>(*down) : nan};
}

Plot begin_plot(Frame& frame, const Area& area, const PlotAxis& x, const PlotAxis& y,
                const PlotLook& look) {
  ImFont* const font = frame.look.fonts.note;
  Area box = area;
  if (look.y_labels) {
    const Area title = box.take_top(font->FontSize + frame.u(7));
    put_text(font, title.from(), frame.theme().quiet, picture::axis_title(y));
  }
  if (look.x_labels) box.take_bottom(font->FontSize + frame.u(8));
  if (look.y_labels) box.take_left(label_room(frame, y, box.h));
  if (look.x_labels)
    put_text(font, {box.right(), box.y - font->FontSize - frame.u(6)}, frame.theme().quiet,
             picture::axis_title(x), Side::right);
  box = {std::round(box.x), std::round(box.y), std::round(box.w), std::round(box.h)};
  Plot plot{box, pixel_scale(x, box.x, box.right()), pixel_scale(y, box.bottom(), box.y)};
  put_x_ticks(frame, plot, look);
  put_y_ticks(frame, plot, look);
  hairline({box.x, box.bottom()}, {box.right(), box.bottom()}, frame.theme().rule);
  hairline({box.x, box.y}, {box.x, box.bottom()}, frame.theme().rule);
  return plot;
}

InsidePlot::InsidePlot(const Plot& plot) {
  ImGui::GetWindowDrawList()->PushClipRect(plot.box.from(), plot.box.to(), true);
}
InsidePlot::~InsidePlot() { ImGui::GetWindowDrawList()->PopClipRect(); }

void put_curve(const Plot& plot, std::span<const PlotPoint> points, ImU32 colour, float thickness) {
  std::vector<ImVec2> line;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const auto draw = [&] {
    if (line.size() > 1)
      list.AddPolyline(line.data(), static_cast<int>(line.size()), colour, ImDrawFlags_None,
                       thickness);
    line.clear();
  };
  // Of points in one pixel column: first, lowest, highest and last are enough.
  float column = -1e9F;
  float low = 0;
  float high = 0;
  ImVec2 last{};
  const auto close_column = [&] {
    if (line.empty() || column < -1e8F) return;
    if (low < line.back().y - 0.5F) line.push_back({column, low});
    if (high > line.back().y + 0.5F) line.push_back({column, high});
    if (std::abs(last.y - line.back().y) > 0.5F || last.x > line.back().x) line.push_back(last);
  };
  for (const PlotPoint& point : points) {
    const ImVec2 at = plot.at(point.x, point.y);
    if (!std::isfinite(at.x) || !std::isfinite(at.y)) {
      close_column();
      draw();
      column = -1e9F;
      continue;
    }
    if (std::floor(at.x) != column) {
      close_column();
      line.push_back(at);
      column = std::floor(at.x);
      low = high = at.y;
    }
    low = std::min(low, at.y);
    high = std::max(high, at.y);
    last = at;
  }
  close_column();
  draw();
}

void put_dashed(const Plot& plot, std::span<const PlotPoint> points, ImU32 colour, float thickness,
                std::span<const float> dash) {
  if (dash.empty()) return put_curve(plot, points, colour, thickness);
  ImDrawList& list = *ImGui::GetWindowDrawList();
  std::size_t part = 0;
  float left = dash.front();
  for (std::size_t i = 1; i < points.size(); ++i) {
    ImVec2 from = plot.at(points[i - 1].x, points[i - 1].y);
    const ImVec2 to = plot.at(points[i].x, points[i].y);
    float length = std::hypot(to.x - from.x, to.y - from.y);
    if (!std::isfinite(length) || length > 20'000) continue;
    while (length > 0) {
      const float step = std::min(left, length);
      const ImVec2 next{from.x + (to.x - from.x) * step / length,
                        from.y + (to.y - from.y) * step / length};
      if (part % 2 == 0) list.AddLine(from, next, colour, thickness);
      from = next;
      length -= step;
      left -= step;
      if (left > 0) continue;
      part = (part + 1) % dash.size();
      left = dash[part];
    }
  }
}

void put_tag(Frame& frame, const Area& within, ImVec2 at, std::string_view words, ImU32 colour) {
  put_tag(frame, within, at, std::array{std::string(words)}, colour);
}

void put_tag(Frame& frame, const Area& within, ImVec2 at, std::span<const std::string> lines,
             ImU32 colour) {
  ImFont* const font = frame.look.fonts.label;
  const float line = font->FontSize + frame.u(2);
  float width = 0;
  for (const std::string& words : lines) width = std::max(width, text_width(font, words));
  width += frame.u(10);
  const float height = static_cast<float>(lines.size()) * line + frame.u(3);
  Area tag{at.x, at.y - height, width, height};
  tag.x = std::clamp(tag.x, within.x, std::max(within.x, within.right() - width));
  tag.y = std::clamp(tag.y, within.y, std::max(within.y, within.bottom() - height));
  fill(tag, faded(frame.theme().card, 0.88F), frame.u(4));
  for (std::size_t i = 0; i < lines.size(); ++i)
    put_text(font, {tag.x + frame.u(5), tag.y + frame.u(2) + static_cast<float>(i) * line}, colour,
             lines[i]);
}

}  // namespace howl::desk
