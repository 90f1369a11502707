#include "src/analysis/line_power.h"

#include <algorithm>
#include <cstddef>

namespace howl {

double power_between(std::span<const float> power, double spacing, double noise_bins, double low,
                     double high) {
  const double from = std::max(0.0, low / spacing + 0.5);
  const double to = std::min(static_cast<double>(power.size()), high / spacing + 0.5);
  double sum = 0.0;
  for (auto k = static_cast<std::size_t>(from); static_cast<double>(k) < to; ++k) {
    const double part =
        std::min(to, static_cast<double>(k + 1)) - std::max(from, static_cast<double>(k));
    sum += part * static_cast<double>(power[k]);
  }
  return sum / noise_bins;
}

}  // namespace howl
