#include "src/report/scale.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdlib>
#include <span>

namespace howl::picture {
namespace {

constexpr double kRounding = 1e-9;
constexpr int kMostTicks = 200;
constexpr std::string_view kMinus = "\u2212";
constexpr std::string_view kThinSpace = "\u2009";

int decimals_for(double step) {
  return std::max(0, -static_cast<int>(std::floor(std::log10(step) + kRounding)));
}

std::string with_thin_spaces(const std::string& digits) {
  const std::size_t whole = std::min(digits.find('.'), digits.size());
  if (whole < 5) return digits;
  std::string spaced;
  for (std::size_t i = 0; i < digits.size(); ++i) {
    if (i > 0 && i < whole && (whole - i) % 3 == 0) spaced += kThinSpace;
    spaced += digits[i];
  }
  return spaced;
}

Tick tick_at(double value, double step) {
  return {value, format_number(value, decimals_for(step))};
}

std::vector<Tick> decade_ticks(const Scale& scale, std::span<const int> factors, int every) {
  std::vector<Tick> ticks;
  const int first = static_cast<int>(std::floor(std::log10(scale.low)));
  const int last = static_cast<int>(std::ceil(std::log10(scale.high)));
  for (int decade = first; decade <= last; ++decade) {
    if (decade % every != 0) continue;
    for (const int factor : factors) {
      const double unit = std::pow(10.0, decade);
      const double value = factor * unit;
      if (value < scale.low * (1 - kRounding) || value > scale.high * (1 + kRounding)) continue;
      ticks.push_back(tick_at(value, unit));
    }
  }
  return ticks;
}

class Fitting {
 public:
  Fitting(const Scale& scale, const std::function<double(const std::string&)>& extent, double gap,
          double spacing)
      : scale_(scale), extent_(extent), gap_(gap), spacing_(spacing) {}

  bool fits(std::span<const Tick> ticks) const {
    for (std::size_t i = 1; i < ticks.size(); ++i) {
      if (!apart(ticks[i - 1], ticks[i])) return false;
    }
    return true;
  }

 private:
  bool apart(const Tick& a, const Tick& b) const {
    const double distance = std::abs(*scale_.position(b.value) - *scale_.position(a.value));
    return distance >= spacing_ && distance >= (extent_(a.label) + extent_(b.label)) / 2 + gap_;
  }

  const Scale& scale_;
  const std::function<double(const std::string&)>& extent_;
  double gap_;
  double spacing_;
};

std::vector<Tick> densest_linear(const Scale& scale, const Fitting& fitting) {
  const double span = scale.high - scale.low;
  for (double step = nice_step(span / kMostTicks); step <= 2 * span;
       step = nice_step(step * (1 + 1e-6))) {
    std::vector<Tick> ticks = linear_ticks(scale.low, scale.high, step);
    if (fitting.fits(ticks)) return ticks;
  }
  return {};
}

std::vector<Tick> densest_decades(const Scale& scale, const Fitting& fitting) {
  constexpr std::array<int, 9> all{1, 2, 3, 4, 5, 6, 7, 8, 9};
  constexpr std::array<int, 4> some{1, 2, 3, 5};
  constexpr std::array<int, 3> few{1, 2, 5};
  constexpr std::array<int, 2> two{1, 3};
  for (const std::span<const int> factors :
       {std::span<const int>(all), std::span<const int>(some), std::span<const int>(few),
        std::span<const int>(two)}) {
    std::vector<Tick> ticks = decade_ticks(scale, factors, 1);
    if (fitting.fits(ticks)) return ticks;
  }
  for (int every = 1; every < 1000; every *= 2) {
    std::vector<Tick> ticks = decade_ticks(scale, std::span(few).first(1), every);
    if (fitting.fits(ticks)) return ticks;
  }
  return {};
}

}  // namespace

std::optional<double> Scale::position(double value) const {
  if (!std::isfinite(value) || (logarithmic && value <= 0)) return std::nullopt;
  const double fraction =
      logarithmic ? std::log(value / low) / std::log(high / low) : (value - low) / (high - low);
  const double at = from + fraction * (to - from);
  return std::isfinite(at) ? std::optional(at) : std::nullopt;
}

double Scale::value_at(double position) const {
  const double fraction = (position - from) / (to - from);
  return logarithmic ? low * std::pow(high / low, fraction) : low + fraction * (high - low);
}

std::optional<std::string> axis_fault(const PlotAxis& axis) {
  const double size = std::max(std::abs(axis.low), std::abs(axis.high));
  if (!std::isfinite(axis.low) || !std::isfinite(axis.high) || size > 1e100) {
    return fmt::format("the range of {} is not known", axis.name);
  }
  if (axis.high - axis.low <= 1e-9 * size || axis.high - axis.low < 1e-100) {
    return fmt::format("{} covers no range", axis.name);
  }
  if (axis.logarithmic && axis.low <= 0) {
    return fmt::format("{} is logarithmic and must begin above 0", axis.name);
  }
  return std::nullopt;
}

Scale scale_of(const PlotAxis& axis, double from, double to) {
  return {axis.low, axis.high, axis.logarithmic, from, to};
}

std::string axis_title(const PlotAxis& axis) {
  return axis.unit.empty() ? axis.name : fmt::format("{} ({})", axis.name, axis.unit);
}

double nice_step(double span) {
  const double unit = std::pow(10.0, std::floor(std::log10(span)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * unit >= span * (1 - kRounding)) return factor * unit;
  }
  return 10 * unit;
}

std::vector<Tick> linear_ticks(double low, double high, double step) {
  std::vector<Tick> ticks;
  const double first = std::ceil(low / step - kRounding);
  const double last = std::floor(high / step + kRounding);
  if (!(last - first <= 2 * kMostTicks)) return ticks;
  for (double k = first; k <= last; ++k) ticks.push_back(tick_at(k * step, step));
  return ticks;
}

std::vector<Tick> axis_ticks(const Scale& scale,
                             const std::function<double(const std::string&)>& extent, double gap,
                             double spacing) {
  const Fitting fitting(scale, extent, gap, spacing);
  std::vector<Tick> plain = densest_linear(scale, fitting);
  if (!scale.logarithmic) return plain;
  std::vector<Tick> decades = densest_decades(scale, fitting);
  const bool wide = scale.high / scale.low >= 10 && decades.size() >= 3;
  return wide || decades.size() >= std::max<std::size_t>(3, plain.size()) ? decades : plain;
}

std::vector<double> decade_lines(const Scale& scale) {
  if (!scale.logarithmic || std::log10(scale.high / scale.low) > 8) return {};
  constexpr std::array<int, 9> all{1, 2, 3, 4, 5, 6, 7, 8, 9};
  std::vector<double> values;
  for (const Tick& tick : decade_ticks(scale, all, 1)) values.push_back(tick.value);
  return values;
}

std::string format_number(double value, int decimals) {
  const double size = std::abs(value);
  if (size != 0 && (size >= 1e7 || decimals > 6)) {
    std::string text = fmt::format("{:.3g}", size);
    return value < 0 ? std::string(kMinus) + text : text;
  }
  const std::string digits = fmt::format("{:.{}f}", size, decimals);
  const bool zero = digits.find_first_not_of("0.") == std::string::npos;
  return (value < 0 && !zero ? std::string(kMinus) : std::string()) + with_thin_spaces(digits);
}

}  // namespace howl::picture
