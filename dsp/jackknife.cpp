#include "dsp/jackknife.h"

#include <cmath>

#include "dsp/statistics.h"

namespace howl {

double jackknife_error(std::span<const double> left_out) {
  if (left_out.empty()) return 0.0;
  // √[(n − 1)/n · Σ(v − mean)²], which is (n − 1)/√n standard deviations.
  const auto n = static_cast<double>(left_out.size());
  return (n - 1.0) / std::sqrt(n) * standard_deviation(left_out);
}

}  // namespace howl
