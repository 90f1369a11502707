#include "dsp/line_relations.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

namespace {

struct Difference {
  double log_ratio;
  double variance;
  double level_db;
};

std::vector<Difference> common_views(const FamilyLine& a, const FamilyLine& b) {
  std::vector<Difference> all;
  auto y = b.sights.begin();
  for (const LineSight& x : a.sights) {
    while (y != b.sights.end() && y->view < x.view) ++y;
    if (y == b.sights.end()) break;
    if (y->view == x.view)
      all.push_back({y->log_position - x.log_position, x.sigma * x.sigma + y->sigma * y->sigma,
                     y->level_db - x.level_db});
  }
  return all;
}

}  // namespace

LineRelation relate(const FamilyLine& a, const FamilyLine& b) {
  const std::vector<Difference> views = common_views(a, b);
  const double level_sigma = std::hypot(a.level_sigma_db, b.level_sigma_db);
  if (views.empty())
    return {std::log(b.position / a.position),
            std::hypot(a.sigma / a.position, b.sigma / b.position), b.level_db - a.level_db,
            level_sigma};
  double weights = 0.0;
  double sum = 0.0;
  std::vector<double> levels;
  for (const Difference& d : views) {
    weights += 1.0 / d.variance;
    sum += d.log_ratio / d.variance;
    levels.push_back(d.level_db);
  }
  const double ratio = sum / weights;
  double chi_square = 0.0;
  for (const Difference& d : views)
    chi_square += (d.log_ratio - ratio) * (d.log_ratio - ratio) / d.variance;
  const auto count = static_cast<double>(views.size());
  const double birge = views.size() > 1 ? std::max(1.0, chi_square / (count - 1.0)) : 1.0;
  const double spread = std::max(level_sigma, standard_deviation(levels));
  return {ratio, std::sqrt(birge / weights), median(levels), spread / std::sqrt(count)};
}

}  // namespace howl
