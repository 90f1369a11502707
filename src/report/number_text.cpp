#include "src/report/number_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace howl {

std::string fixed_text(double value, int decimals) {
  if (!std::isfinite(value)) return "-";
  const std::string text = fmt::format("{:.{}f}", value, decimals);
  const bool negative_zero = text.find_first_not_of("-0.") == std::string::npos;
  return negative_zero && text.starts_with('-') ? text.substr(1) : text;
}

std::string fixed_text(const std::optional<double>& value, int decimals) {
  return value ? fixed_text(*value, decimals) : "-";
}

std::string span_text(const Interval& span, int decimals) {
  const std::string low = fixed_text(span.low, decimals);
  const std::string high = fixed_text(span.high, decimals);
  return low == high ? low : low + " … " + high;
}

std::string level_text(const RankedPoint& point) {
  const std::string level = fixed_text(point.level_db, 1);
  return point.upper_bound && point.level_db ? "≤ " + level : level;
}

std::string order_text(const ToneResult& tone) {
  if (!tone.order) return "-";
  const std::string order = fixed_text(tone.order, 2);
  if (!tone.order_ci95) return order;
  const double reach =
      std::max(tone.order_ci95->high - *tone.order, *tone.order - tone.order_ci95->low);
  return fmt::format("{} ±{}", order, fixed_text(std::ceil(100.0 * reach - 1e-6) / 100.0, 2));
}

std::string band_text(const AnalysisRequest::Band& band) {
  if (band.unit == AnalysisRequest::Band::Unit::hertz) return span_text(band.range, 0) + " Hz";
  return "orders " + span_text(band.range, 2);
}

}  // namespace howl
