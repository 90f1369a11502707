#include "dsp/repeat_spread.h"

#include <cmath>
#include <numbers>

namespace howl {

RepeatSpread::RepeatSpread(double expected_sd_db, double expected_degrees)
    : sum_of_squares_(expected_degrees * expected_sd_db * expected_sd_db),
      degrees_(expected_degrees) {}

void RepeatSpread::add(std::span<const double> levels_db) {
  if (levels_db.size() < 2) return;
  const double sd = standard_deviation(levels_db);
  const auto degrees = static_cast<double>(levels_db.size() - 1);
  sum_of_squares_ += degrees * sd * sd;
  degrees_ += degrees;
}

double RepeatSpread::likely_sd_db() const { return std::sqrt(sum_of_squares_ / degrees_); }

double RepeatSpread::draw_sd_db(Random& random) const {
  return std::sqrt(sum_of_squares_ / draw_chi_square(random, degrees_));
}

double draw_repeat_error(std::size_t repeats, double sd, double likely_sd, Random& random) {
  constexpr double nepers_per_db = std::numbers::ln10 / 10.0;
  double sum = 0.0;
  for (std::size_t r = 0; r < repeats; ++r)
    sum += std::exp(nepers_per_db * sd * draw_normal(random));
  const double likely = nepers_per_db * likely_sd;
  return sum / static_cast<double>(repeats) / std::exp(0.5 * likely * likely);
}

}  // namespace howl
