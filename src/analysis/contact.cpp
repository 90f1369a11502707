#include "src/analysis/contact.h"

#include <cmath>
#include <cstddef>

#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kContactLostDb = 20.0;

double usual_total(std::span<const double> times, std::span<const double> totals, std::size_t at) {
  constexpr double reach_s = 4.0;
  std::vector<double> around;
  for (std::size_t i = at; i < times.size() && times[i] < times[at] + reach_s; ++i)
    around.push_back(totals[i]);
  for (std::size_t i = at; i-- > 0 && times[i] > times[at] - reach_s;) around.push_back(totals[i]);
  return quantile(around, 0.75);
}

}  // namespace

std::vector<bool> in_contact(std::span<const double> times, std::span<const double> totals) {
  const double drop = std::pow(10.0, -kContactLostDb / 10.0);
  std::vector<bool> held;
  for (std::size_t i = 0; i < times.size(); ++i)
    held.push_back(totals[i] >= drop * usual_total(times, totals, i));
  return held;
}

}  // namespace howl
