#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "src/report/pictures.h"

namespace howl::picture {

/// Where the values of an axis fall on the page: `low` at `from`, `high` at `to` (layout units;
/// `to` < `from` for an axis that grows upwards).
struct Scale {
  double low{};
  double high{};
  bool logarithmic{};
  double from{};
  double to{};

  /// Nothing where the value is not a number, or not positive on a logarithmic axis.
  std::optional<double> position(double value) const;
  /// Inverse of position().
  double value_at(double position) const;
};

/// What keeps an axis from being drawn, as the end of a sentence; nothing where it is fine.
std::optional<std::string> axis_fault(const PlotAxis& axis);
/// `axis` must have no fault.
Scale scale_of(const PlotAxis& axis, double from, double to);
/// "Frequency (Hz)"; without a unit just the name.
std::string axis_title(const PlotAxis& axis);

struct Tick {
  double value{};
  std::string label;
};

/// 1, 2 or 5 times a power of ten, at least `span` > 0 (the nice numbers of Heckbert 1990, Graphics
/// Gems, "Nice Numbers for Graph Labels", always rounded up).
double nice_step(double span);

/// Multiples of `step` from `low` to `high`, with as many decimals as the step needs.
std::vector<Tick> linear_ticks(double low, double high, double step);

/// The densest ticks whose labels stay `gap` apart and whose marks stay `spacing` apart, in steps
/// of 1-2-5; on a logarithmic axis 1 … 9, 1-2-3-5, 1-2-5, 1-3 or whole decades, or plain steps
/// where the axis holds too little of a decade. `extent` is the length of a label along the axis.
std::vector<Tick> axis_ticks(const Scale& scale,
                             const std::function<double(const std::string&)>& extent, double gap,
                             double spacing);

/// Every 1 … 9 of every decade, for a fine grid.
std::vector<double> decade_lines(const Scale& scale);

/// With a true minus sign and thin spaces between thousands from 10 000 on; never "−0".
std::string format_number(double value, int decimals);

}  // namespace howl::picture
