#include "dsp/engine_lines.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>

#include "dsp/noise_floor.h"
#include "dsp/peaks.h"
#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kFloorOrders = 4.0;
constexpr double kLevelSpreadDb = 7.0;
constexpr double kClutterSpreadDb = 10.0;

// Prior of the firing orders' fall.
constexpr double kFallPerOctaveDb = -6.0;
constexpr double kFallSpreadDb = 4.0;
constexpr double kAnyLevelDb = 25.0;

/// How far other half orders may lie below the firing orders.
constexpr std::array<double, 14> kBelowDb{1.0,  4.0,  7.0,  10.0, 13.0, 16.0, 19.0,
                                          22.0, 25.0, 28.0, 31.0, 34.0, 37.0, 40.0};
/// How much cylinders differ at the probe, in strength and in their way to it: one standard
/// deviation, each as likely; our choice, from cylinders that are nearly alike to one that is dead.
constexpr std::array<double, 5> kCylinderSpread{0.03, 0.06, 0.12, 0.25, 0.5};
/// Chance that cylinders are so equal that half orders of a group do not show at all.
constexpr double kAllEqual = 0.3;

/// Speeds tried about the guess.
constexpr int kScales = 6;
constexpr double kScaleStep = 0.001;

double log_normal_density(double x, double sigma) {
  return -0.5 * (x / sigma) * (x / sigma) - std::log(sigma * std::sqrt(2.0 * std::numbers::pi));
}

double log_of_sum(double a, double b) {
  const double high = std::max(a, b);
  return high + std::log(std::exp(a - high) + std::exp(b - high));
}

double log_mean_exp(std::span<const double> values) {
  const double high = *std::max_element(values.begin(), values.end());
  double sum = 0.0;
  for (const double v : values) sum += std::exp(v - high);
  return high + std::log(sum / static_cast<double>(values.size()));
}

double log_cdf(double x) { return std::log(std::max(1e-12, normal_cdf(x))); }

/// A place where the engine should have a line.
struct Expected {
  double own_order;  ///< of the engine as supposed
  int group;         ///< 0: firing order
  double limit_db;
  const OrderLine* line;  ///< none: not seen
  double log_place;       ///< density of the line's distance from the place
};

const OrderLine* nearest(const OrderLines& view, double order) {
  const auto above =
      std::lower_bound(view.lines.begin(), view.lines.end(), order,
                       [](const OrderLine& line, double o) { return line.order < o; });
  const OrderLine* best = above == view.lines.end() ? nullptr : &*above;
  if (above != view.lines.begin()) {
    const OrderLine* below = &*(above - 1);
    if (best == nullptr || order - below->order < best->order - order) best = below;
  }
  return best;
}

/// What speed that wavers, and its error within one block, leave of a line's place.
double place_sigma(const OrderLine& line) {
  return std::hypot(line.sigma, std::hypot(0.012, 0.0008 * line.order));
}

/// Every cylinder fires alike in each cycle, so that the differences between them make a pattern of
/// period c in half orders: the k-th is as strong, but for the fall, as those c, 2c … further on,
/// and as the (c−k)-th (discrete Fourier transform of the c strengths).
int group_of(int half_order, int cylinders) {
  const int rest = half_order % cylinders;
  return std::min(rest, cylinders - rest);
}

std::vector<Expected> expected_lines(const OrderLines& view, double ratio, int cylinders) {
  std::vector<Expected> all;
  const double highest = view.lines.empty() ? 0.0 : view.lines.back().order + 0.1;
  for (int k = 1; 0.5 * k * ratio <= highest; ++k) {
    const double order = 0.5 * k * ratio;
    if (order < view.lowest) continue;
    Expected e{0.5 * k, group_of(k, cylinders), view.limit_at(order), nullptr, 0.0};
    const OrderLine* line = nearest(view, order);
    if (line != nullptr) {
      const double sigma = place_sigma(*line);
      if (std::abs(line->order - order) < 3.0 * sigma) {
        e.line = line;
        e.log_place = log_normal_density(line->order - order, sigma);
      }
    }
    all.push_back(e);
  }
  return all;
}

struct Fall {
  double level;  ///< at own order 1
  double per_octave;
  double at(double order) const { return level + per_octave * std::log2(order); }
};

/// Least squares over the firing orders that are seen, with the priors as two more observations.
std::optional<Fall> firing_fall(const std::vector<Expected>& expected, double usual_db) {
  const double wl = 1.0 / (kAnyLevelDb * kAnyLevelDb);
  const double ws = 1.0 / (kFallSpreadDb * kFallSpreadDb);
  const double w = 1.0 / (kLevelSpreadDb * kLevelSpreadDb);
  double a = wl;
  double b = 0.0;
  double c = ws;
  double p = wl * usual_db;
  double q = ws * kFallPerOctaveDb;
  bool any = false;
  for (const Expected& e : expected) {
    if (e.group != 0 || e.line == nullptr) continue;
    any = true;
    const double x = std::log2(e.own_order);
    a += w;
    b += w * x;
    c += w * x * x;
    p += w * e.line->level_db;
    q += w * x * e.line->level_db;
  }
  if (!any) return std::nullopt;
  const double det = a * c - b * b;
  return Fall{(c * p - b * q) / det, (a * q - b * p) / det};
}

struct Clutter {
  double log_rate;  ///< lines an order
  double usual_db;
  double log_density(const OrderLine& line) const {
    return log_rate + log_normal_density(line.level_db - usual_db, kClutterSpreadDb);
  }
};

Clutter clutter_of(const OrderLines& view) {
  std::vector<double> levels;
  for (const OrderLine& line : view.lines) levels.push_back(line.level_db);
  const double range = std::max(1.0, view.lines.back().order - view.lowest);
  return {std::log(static_cast<double>(levels.size() + 1) / range), median(levels)};
}

double evidence_of(const Expected& e, double level_db, const Clutter& clutter) {
  const double log_missing = log_cdf((e.limit_db - level_db) / kLevelSpreadDb);
  if (e.line == nullptr) return log_missing;
  const double other = clutter.log_density(*e.line);
  const double engine =
      log_normal_density(e.line->level_db - level_db, kLevelSpreadDb) + e.log_place;
  return log_of_sum(engine, log_missing + other) - other;
}

using BelowPrior = std::array<double, kBelowDb.size()>;

/// Chances of kBelowDb, as logarithms. Of c cylinders with random strengths, the square of a half
/// order's amplitude over that of a firing order is exponential with mean spread²/c.
BelowPrior below_prior(int cylinders) {
  BelowPrior prior;
  double total = 0.0;
  for (std::size_t i = 0; i < prior.size(); ++i) {
    double sum = 0.0;
    for (const double spread : kCylinderSpread) {
      const double x = std::pow(10.0, -0.1 * kBelowDb[i]) * cylinders / (spread * spread);
      sum += x * std::exp(-x);
    }
    prior[i] = std::log(sum);
    total += sum;
  }
  for (double& p : prior) p -= std::log(total);
  return prior;
}

/// What one group of half orders says, whatever it lies below the firing orders by.
double evidence_of_group(const std::vector<Expected>& expected, int group, const BelowPrior& prior,
                         const Fall& fall, const Clutter& clutter) {
  double found = -1e9;
  for (std::size_t i = 0; i < prior.size(); ++i) {
    double sum = prior[i];
    for (const Expected& e : expected)
      if (e.group == group) sum += evidence_of(e, fall.at(e.own_order) - kBelowDb[i], clutter);
    found = log_of_sum(found, sum);
  }
  return log_of_sum(std::log(1.0 - kAllEqual) + found, std::log(kAllEqual));
}

double evidence_with(const std::vector<Expected>& expected, int cylinders, const BelowPrior& prior,
                     const Clutter& clutter) {
  const std::optional<Fall> fall = firing_fall(expected, clutter.usual_db);
  if (!fall) return -1e3;
  double sum = 0.0;
  for (const Expected& e : expected)
    if (e.group == 0) sum += evidence_of(e, fall->at(e.own_order), clutter);
  for (int group = 1; 2 * group <= cylinders; ++group)
    sum += evidence_of_group(expected, group, prior, *fall, clutter);
  // What fitting the fall's two parameters costs against their priors.
  const double fitted = std::log(kAnyLevelDb / kLevelSpreadDb) + 1.0;
  return sum - fitted;
}

}  // namespace

double OrderLines::limit_at(double order) const {
  const auto cell = static_cast<std::size_t>(std::lround(order / spacing));
  return limit_db[std::min(cell, limit_db.size() - 1)];
}

OrderLines order_lines(const PowerSpectrum& orders, double lowest, double highest) {
  OrderLines view;
  view.lowest = lowest;
  view.highest = highest;
  view.spacing = orders.spacing;
  if (orders.power.empty()) return view;
  PeakParameters parameters;
  parameters.lowest = lowest;
  parameters.highest = highest;
  parameters.floor_width = kFloorOrders;
  const double height = std::clamp(12.0 / std::sqrt(orders.effective_averages), 4.0, 12.0);
  parameters.min_height = Decibel(height);
  for (const Peak& peak : find_peaks(orders, parameters))
    view.lines.push_back({peak.position, peak.position_sigma, decibels_of_power(peak.power).value});
  for (const double floor : noise_floor(orders, kFloorOrders))
    view.limit_db.push_back(decibels_of_power(std::max(1e-30, floor)).value + height);
  return view;
}

EngineFit fit_engine(const OrderLines& view, double ratio, int cylinders) {
  EngineFit fit;
  fit.log_evidence = -1e3;
  if (view.lines.empty()) return fit;
  const Clutter clutter = clutter_of(view);
  const BelowPrior prior = below_prior(cylinders);
  std::vector<double> evidence;
  for (int s = -kScales; s <= kScales; ++s)
    evidence.push_back(
        evidence_with(expected_lines(view, ratio * (1.0 + kScaleStep * s), cylinders), cylinders,
                      prior, clutter));
  fit.log_evidence = log_mean_exp(evidence);
  double sum = 0.0;
  double first = 0.0;
  double second = 0.0;
  for (std::size_t i = 0; i < evidence.size(); ++i) {
    const int s = static_cast<int>(i) - kScales;
    const double weight = std::exp(evidence[i] - fit.log_evidence);
    sum += weight;
    first += weight * s;
    second += weight * s * s;
  }
  const double place = first / sum;
  fit.scale = 1.0 + kScaleStep * place;
  fit.scale_sigma =
      kScaleStep * std::sqrt(std::max(0.0, second / sum - place * place) + 1.0 / 12.0);
  for (const Expected& e : expected_lines(view, ratio * fit.scale, cylinders)) {
    if (e.group != 0) continue;
    ++fit.firing_possible;
    fit.firing_seen += e.line != nullptr ? 1 : 0;
  }
  return fit;
}

}  // namespace howl
