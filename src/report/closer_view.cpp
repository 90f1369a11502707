#include "src/report/closer_view.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <optional>
#include <utility>
#include <vector>

namespace howl {
namespace {

// In heights of the view.
constexpr double kRoomAround = 0.1;
constexpr double kLeastHeight = 0.32;
constexpr double kLittleGain = 0.8;

/// What of one axis is shown, in shares of the view.
struct Range {
  double low{};
  double high{};
  double length() const { return high - low; }
};

/// As long as asked around its middle, moved or shortened to lie within the view.
Range stretched(const Range& range, double length) {
  length = std::clamp(length, range.length(), 1.0);
  const double low =
      std::clamp((range.low + range.high - length) / 2, 0.0, std::max(0.0, 1.0 - length));
  return {low, low + length};
}

struct Window {
  Range x;
  Range y;
};

std::optional<Window> around_named_spots(const SketchView& view) {
  Window window{{1.0, 0.0}, {1.0, 0.0}};
  for (const SketchSpot& spot : view.spots) {
    if (spot.words.empty() || !std::isfinite(spot.at.x + spot.at.y)) continue;
    window.x = {std::min(window.x.low, spot.at.x), std::max(window.x.high, spot.at.x)};
    window.y = {std::min(window.y.low, spot.at.y), std::max(window.y.high, spot.at.y)};
  }
  if (window.x.length() < 0.0 || window.y.length() < 0.0) return std::nullopt;
  return window;
}

Window with_room(Window window, double aspect, double most_aspect) {
  const double high = std::max(window.y.length() + 2 * kRoomAround, kLeastHeight);
  window.y = stretched(window.y, high);
  const double room = 2 * kRoomAround / aspect;
  window.x = stretched(window.x, std::max(window.x.length() + room, high * most_aspect / aspect));
  return window;
}

using Corners = std::vector<PlotPoint>;

/// The part of a polygon on the inner side of one edge; `inside` is the distance to it, > 0 within.
Corners cut(const Corners& corners, const std::function<double(const PlotPoint&)>& inside) {
  Corners kept;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const PlotPoint& from = corners[i];
    const PlotPoint& to = corners[(i + 1) % corners.size()];
    const double a = inside(from);
    const double b = inside(to);
    if (a >= 0) kept.push_back(from);
    if ((a >= 0) == (b >= 0)) continue;
    const double share = a / (a - b);
    kept.push_back({std::lerp(from.x, to.x, share), std::lerp(from.y, to.y, share)});
  }
  return kept;
}

Corners cut_to_view(Corners corners) {
  corners = cut(corners, [](const PlotPoint& p) { return p.x; });
  corners = cut(corners, [](const PlotPoint& p) { return 1.0 - p.x; });
  corners = cut(corners, [](const PlotPoint& p) { return p.y; });
  return cut(corners, [](const PlotPoint& p) { return 1.0 - p.y; });
}

PlotPoint moved(const PlotPoint& point, const Window& window) {
  return {(point.x - window.x.low) / window.x.length(),
          (point.y - window.y.low) / window.y.length()};
}

bool is_within(const PlotPoint& point) {
  return point.x >= 0 && point.x <= 1 && point.y >= 0 && point.y <= 1;
}

}  // namespace

SketchView closer_view(const SketchView& view, double most_aspect) {
  const double aspect = std::isfinite(view.aspect) && view.aspect > 0 ? view.aspect : 1.0;
  const std::optional<Window> spots = around_named_spots(view);
  if (!spots) return view;
  const Window window = with_room(*spots, aspect, most_aspect);
  if (window.y.length() > kLittleGain) return view;
  SketchView closer = view;
  closer.subtitle += view.subtitle.empty() ? "a part of it" : "; a part of it";
  closer.aspect = aspect * window.x.length() / window.y.length();
  for (SketchShape& shape : closer.shapes) {
    for (PlotPoint& corner : shape.corners) corner = moved(corner, window);
    shape.corners = cut_to_view(std::move(shape.corners));
  }
  std::erase_if(closer.shapes, [](const SketchShape& shape) { return shape.corners.size() < 3; });
  for (SketchSpot& spot : closer.spots) spot.at = moved(spot.at, window);
  std::erase_if(closer.spots, [](const SketchSpot& spot) { return !is_within(spot.at); });
  return closer;
}

}  // namespace howl
