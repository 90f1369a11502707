#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "dsp/statistics.h"
#include "src/report/pictures.h"
#include "src/report/scale.h"
#include "ui/look/frame.h"

namespace howl::desk {

/// An area with two axes, as the report's pictures have them.
struct Plot {
  Area box;
  picture::Scale x;
  picture::Scale y;

  ImVec2 at(double px, double py) const;
  double x_at(float pixel) const { return x.value_at(static_cast<double>(pixel)); }
  double y_at(float pixel) const { return y.value_at(static_cast<double>(pixel)); }
};

struct PlotLook {
  bool x_labels{true};
  bool y_labels{true};
  bool grid{true};
};
/// Room for the labels is taken off `area`; draws grid, ticks, and names of the axes.
Plot begin_plot(Frame& frame, const Area& area, const PlotAxis& x, const PlotAxis& y,
                const PlotLook& look = {});

/// What lies between draws inside the plot's box only.
class InsidePlot {
 public:
  explicit InsidePlot(const Plot& plot);
  ~InsidePlot();
  InsidePlot(const InsidePlot&) = delete;
  InsidePlot& operator=(const InsidePlot&) = delete;
};

/// A curve through points that lie in order of x; those that share a pixel become one stroke from
/// the lowest to the highest. Points that are not finite break it.
void put_curve(const Plot& plot, std::span<const PlotPoint> points, ImU32 colour, float thickness);
/// The same with dashes, in layout units of pixels.
void put_dashed(const Plot& plot, std::span<const PlotPoint> points, ImU32 colour, float thickness,
                std::span<const float> dash);
/// Words on a small ground, inside the box, near `at`.
void put_tag(Frame& frame, const Area& within, ImVec2 at, std::string_view words, ImU32 colour);
void put_tag(Frame& frame, const Area& within, ImVec2 at, std::span<const std::string> lines,
             ImU32 colour);

/// Ticks of an axis at least two of which have a label, unless there is room for one only: closer
/// together than looks best where the axis is short.
std::vector<picture::Tick> labelled_ticks(const picture::Scale& scale,
                                          const std::function<double(const std::string&)>& extent,
                                          double gap, double spacing);

}  // namespace howl::desk
