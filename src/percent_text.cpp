#include "src/percent_text.h"

#include <fmt/format.h>

#include <cmath>

namespace howl {

std::string percent_text(double probability) {
  if (!std::isfinite(probability)) return "-";
  const double percent = 100.0 * probability;
  if (percent > 99.0) return ">99 %";
  if (percent < 1.0) return "<1 %";
  return fmt::format("{:.0f} %", percent);
}

std::string percent_text(const std::optional<double>& probability) {
  return probability ? percent_text(*probability) : "-";
}

}  // namespace howl
