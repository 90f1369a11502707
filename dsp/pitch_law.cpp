#include "dsp/pitch_law.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "dsp/pitch_stations.h"
#include "dsp/statistics.h"

namespace howl {

namespace {

// What is known beforehand, common practice unless stated. Scatter is one standard deviation of ln
// f about the law.
constexpr Interval kDirectScatter{1e-4, 7e-4};
constexpr Interval kBeltScatter{1.2e-3, 1.2e-2};  // slip that drifts by some tenths to two per cent
constexpr Interval kFixedScatter{2e-4, 3e-3};     // a resonance's peak wanders inside its width
constexpr Interval kRoadScatter{2e-4, 1e-2};
constexpr Interval kFreeScatter{2.5e-3, 0.25};
// What wanders by less than kFixedPointScatter stands, as far as a workshop cares.
constexpr Interval kWanderScatter{7e-3, 0.25};
constexpr double kShortMemory = 3.0;  // s, of a pitch that wanders
constexpr std::array<double, 3> kFreeMemory{0.0, kShortMemory, 10.0};
constexpr double kRoadSpeedSigma = 0.01;  // of one take's road speed
constexpr double kIndependentSpeedShare =
    0.5;                             // of speed_sigma that varies from station to station
constexpr double kConstantSd = 2.0;  // prior of ln f, about its mean
constexpr double kExponentMean = 0.5;
constexpr double kExponentSd = 1.5;
constexpr double kFixedPointScatter = 7e-3;  // single sightings of a pitch that stands
// Prior odds of a constant order that is no whole number (gear, chain, or a belt that shows no
// slip) against a drive straight from the crankshaft, per unit of order.
constexpr double kConstantFractionalOdds = 1.0;
constexpr std::size_t kScatterSteps = 9;

/// Lower triangle of a symmetric positive definite matrix, factored in place.
class Cholesky {
 public:
  explicit Cholesky(std::vector<double> matrix, std::size_t n) : a_(std::move(matrix)), n_(n) {
    for (std::size_t j = 0; j < n_; ++j) {
      for (std::size_t k = 0; k < j; ++k) at(j, j) -= at(j, k) * at(j, k);
      at(j, j) = std::sqrt(at(j, j));
      for (std::size_t i = j + 1; i < n_; ++i) {
        for (std::size_t k = 0; k < j; ++k) at(i, j) -= at(i, k) * at(j, k);
        at(i, j) /= at(j, j);
      }
    }
  }
  double log_determinant() const {
    double sum = 0.0;
    for (std::size_t i = 0; i < n_; ++i) sum += 2.0 * std::log(a_[i * n_ + i]);
    return sum;
  }
  /// L⁻¹·b, so that dot products of whitened vectors are those under the inverse matrix.
  std::vector<double> whiten(std::vector<double> b) const {
    for (std::size_t i = 0; i < n_; ++i) {
      for (std::size_t k = 0; k < i; ++k) b[i] -= a_[i * n_ + k] * b[k];
      b[i] /= a_[i * n_ + i];
    }
    return b;
  }

 private:
  double& at(std::size_t i, std::size_t j) { return a_[i * n_ + j]; }
  std::vector<double> a_;
  std::size_t n_;
};

double dot(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i] * b[i];
  return sum;
}

/// Which speed a law leans on; decides which speed errors enter.
enum class Leans { nothing, engine, road };

/// Of what moves smoothly (Matérn, 3/2).
double correlation(double apart, double memory) {
  const double r = std::sqrt(3.0) * apart / memory;
  return (1.0 + r) * std::exp(-r);
}

/// `memory` in s: how long scatter about the law goes on in one take; 0: not to the next station.
Cholesky covariance(const std::vector<PitchStation>& s, double scatter, double memory,
                    Leans leans) {
  const std::size_t n = s.size();
  std::vector<double> c(n * n, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      if (s[i].take != s[j].take) continue;
      double shared = 0.0;
      if (leans == Leans::engine)
        shared = s[i].speed_sigma * s[j].speed_sigma +
                 s[i].lag_sigma * s[j].lag_sigma * s[i].speed_rate * s[j].speed_rate;
      if (leans == Leans::road) shared = kRoadSpeedSigma * kRoadSpeedSigma;
      if (memory > 0.0 && i != j)
        shared += scatter * scatter * correlation(std::abs(s[i].time - s[j].time), memory);
      c[i * n + j] = shared;
    }
    double own = s[i].sigma * s[i].sigma + scatter * scatter;
    if (leans == Leans::engine) own += std::pow(kIndependentSpeedShare * s[i].speed_sigma, 2);
    c[i * n + i] += own;
  }
  return Cholesky(std::move(c), n);
}

struct Gaussian {
  double mean;
  double sd;
  double log_weight;  // log of marginal likelihood × prior of this scatter
};

/// One law at every scatter of its prior: marginal likelihood, and the posterior of its constant.
struct LawPosterior {
  double log_evidence{};
  std::vector<Gaussian> constant;  // ln f at the reference, or the exponent for the free law
  std::vector<Gaussian> level{};   // of the free law: ln f at the reference
  double scatter{};                // most probable
};

std::array<double, kScatterSteps> scatter_grid(Interval range) {
  std::array<double, kScatterSteps> grid{};
  for (std::size_t i = 0; i < kScatterSteps; ++i)
    grid[i] = range.low * std::pow(range.high / range.low,
                                   static_cast<double>(i) / static_cast<double>(kScatterSteps - 1));
  return grid;
}

/// Of a law of two constants, at one scatter.
struct PowerLaw {
  Gaussian exponent;
  Gaussian level;  // ln f at the reference
};

double log_sum(const std::vector<Gaussian>& parts) {
  double top = -1e300;
  for (const Gaussian& g : parts) top = std::max(top, g.log_weight);
  double sum = 0.0;
  for (const Gaussian& g : parts) sum += std::exp(g.log_weight - top);
  return top + std::log(sum);
}

void finish(LawPosterior& law, const std::array<double, kScatterSteps>& grid) {
  law.log_evidence = log_sum(law.constant);
  std::size_t best = 0;
  for (std::size_t i = 1; i < law.constant.size(); ++i)
    if (law.constant[i].log_weight > law.constant[best].log_weight) best = i;
  law.scatter = grid[best];
}

/// r ~ constant + errors, constant ~ N(0, kConstantSd²), at one scatter.
Gaussian constant_at(const std::vector<double>& residual, const Cholesky& c) {
  const std::vector<double> r = c.whiten(residual);
  const std::vector<double> one = c.whiten(std::vector<double>(residual.size(), 1.0));
  const double information = dot(one, one) + 1.0 / (kConstantSd * kConstantSd);
  const double centre = dot(one, r) / information;
  const double log_likelihood =
      -0.5 * (dot(r, r) - centre * centre * information + c.log_determinant() +
              std::log(information * kConstantSd * kConstantSd));
  return {centre, 1.0 / std::sqrt(information), log_likelihood};
}

LawPosterior fit_constant(const std::vector<PitchStation>& s, const std::vector<double>& residual,
                          Interval scatter, Leans leans) {
  LawPosterior law;
  const auto grid = scatter_grid(scatter);
  for (const double tau : grid) {
    law.constant.push_back(constant_at(residual, covariance(s, tau, 0.0, leans)));
    law.constant.back().log_weight -= std::log(static_cast<double>(kScatterSteps));
  }
  finish(law, grid);
  return law;
}

/// r ~ constant + exponent·x + errors, at one scatter, with the marginal likelihood.
PowerLaw power_law_at(const std::vector<double>& x, const std::vector<double>& shifted,
                      const Cholesky& c) {
  const std::vector<double> r = c.whiten(shifted);
  const std::vector<double> one = c.whiten(std::vector<double>(x.size(), 1.0));
  const std::vector<double> slope = c.whiten(x);
  const double a = dot(one, one) + 1.0 / (kConstantSd * kConstantSd);
  const double b = dot(one, slope);
  const double d = dot(slope, slope) + 1.0 / (kExponentSd * kExponentSd);
  const double u = dot(one, r);
  const double w = dot(slope, r);
  const double determinant = a * d - b * b;
  const double explained = (d * u * u - 2.0 * b * u * w + a * w * w) / determinant;
  const double log_likelihood =
      -0.5 * (dot(r, r) - explained + c.log_determinant() +
              std::log(determinant * kConstantSd * kConstantSd * kExponentSd * kExponentSd));
  return {
      {kExponentMean + (a * w - b * u) / determinant, std::sqrt(a / determinant), log_likelihood},
      {(d * u - b * w) / determinant, std::sqrt(d / determinant), log_likelihood}};
}

/// The posterior kept is the exponent's.
LawPosterior fit_exponent(const std::vector<PitchStation>& s, const std::vector<double>& x,
                          const std::vector<double>& residual, Interval scatter) {
  LawPosterior law;
  std::vector<double> shifted = residual;
  for (std::size_t i = 0; i < x.size(); ++i) shifted[i] -= kExponentMean * x[i];
  const double log_share = -std::log(static_cast<double>(kScatterSteps * kFreeMemory.size()));
  for (const double memory : kFreeMemory)
    for (const double tau : scatter_grid(scatter)) {
      PowerLaw part = power_law_at(x, shifted, covariance(s, tau, memory, Leans::engine));
      part.exponent.log_weight += log_share;
      part.level.log_weight += log_share;
      law.constant.push_back(part.exponent);
      law.level.push_back(part.level);
    }
  law.log_evidence = log_sum(law.constant);
  return law;
}

/// Of a pitch that wanders about a constant, whatever the engine does.
std::vector<Gaussian> wander(const std::vector<PitchStation>& s,
                             const std::vector<double>& residual) {
  std::vector<Gaussian> parts;
  for (const double memory : kFreeMemory)
    for (const double tau : scatter_grid(kWanderScatter))
      parts.push_back(constant_at(residual, covariance(s, tau, memory, Leans::nothing)));
  const double log_share = -std::log(static_cast<double>(parts.size()));
  for (Gaussian& part : parts) part.log_weight += log_share;
  return parts;
}

/// A free pitch goes with some power of the speed, or has nothing to do with it: as likely.
LawPosterior fit_free(const std::vector<PitchStation>& s, const std::vector<double>& x,
                      const std::vector<double>& y) {
  LawPosterior law = fit_exponent(s, x, y, kFreeScatter);
  constexpr double stands_still = 1e-3;
  const std::vector<Gaussian> standing = wander(s, y);
  law.constant.push_back({0.0, stands_still, log_sum(standing)});
  law.level.insert(law.level.end(), standing.begin(), standing.end());
  for (auto* const parts : {&law.constant, &law.level})
    for (Gaussian& part : *parts) part.log_weight -= std::log(2.0);
  law.log_evidence = log_sum(law.constant);
  return law;
}

double mixture_mean(const std::vector<Gaussian>& parts) {
  const double all = log_sum(parts);
  double sum = 0.0;
  for (const Gaussian& g : parts) sum += std::exp(g.log_weight - all) * g.mean;
  return sum;
}

double mixture_quantile(const std::vector<Gaussian>& parts, double p) {
  const double all = log_sum(parts);
  double low = 1e300;
  double high = -1e300;
  for (const Gaussian& g : parts) {
    low = std::min(low, g.mean - 9.0 * g.sd);
    high = std::max(high, g.mean + 9.0 * g.sd);
  }
  for (int i = 0; i < 100; ++i) {
    const double middle = 0.5 * (low + high);
    double below = 0.0;
    for (const Gaussian& g : parts)
      below += std::exp(g.log_weight - all) * normal_cdf((middle - g.mean) / g.sd);
    (below < p ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

double mixture_sd(const std::vector<Gaussian>& parts) {
  const double all = log_sum(parts);
  const double centre = mixture_mean(parts);
  double sum = 0.0;
  for (const Gaussian& g : parts)
    sum += std::exp(g.log_weight - all) * (g.sd * g.sd + (g.mean - centre) * (g.mean - centre));
  return std::sqrt(sum);
}

Interval mixture_ci95(const std::vector<Gaussian>& parts) {
  return {mixture_quantile(parts, 0.025), mixture_quantile(parts, 0.975)};
}

struct Weighted {
  Law law;
  double prior;
  LawPosterior posterior;
  double weight = 0.0;
};

void weigh(std::vector<Weighted>& laws) {
  double top = -1e300;
  for (const Weighted& w : laws) top = std::max(top, w.posterior.log_evidence + std::log(w.prior));
  double sum = 0.0;
  for (Weighted& w : laws)
    sum += w.weight = std::exp(w.posterior.log_evidence + std::log(w.prior) - top);
  for (Weighted& w : laws) w.weight /= sum;
}

double weight_of(const std::vector<Weighted>& laws, Law law) {
  for (const Weighted& w : laws)
    if (w.law == law) return w.weight;
  return 0.0;
}

struct BehaviourWeight {
  Behaviour behaviour;
  double weight;
};

BehaviourWeight best_behaviour(const std::vector<Weighted>& laws, bool in_step) {
  const double engine = weight_of(laws, Law::locked) + weight_of(laws, Law::belt);
  const double road = weight_of(laws, Law::road);
  const std::array<BehaviourWeight, 4> all{{
      {Behaviour::speed_locked, in_step ? engine + road : engine},
      {Behaviour::fixed_pitch, weight_of(laws, Law::fixed)},
      {Behaviour::road_locked, in_step ? 0.0 : road},
      {Behaviour::unlocked, weight_of(laws, Law::free)},
  }};
  return *std::max_element(all.begin(), all.end(),
                           [](const auto& a, const auto& b) { return a.weight < b.weight; });
}

Drive drive_of(const std::vector<Weighted>& laws, bool in_step, double order, double order_sd,
               double enough) {
  const double whole = std::round(order);
  const double density = normal_density(order - whole, order_sd);
  const double locked = weight_of(laws, Law::locked);
  const double direct = whole >= 1.0 ? locked * density : 0.0;
  const double fractional = locked * kConstantFractionalOdds;
  const double belt = weight_of(laws, Law::belt);
  const double road = in_step ? weight_of(laws, Law::road) : 0.0;
  const double all = direct + fractional + belt + road;
  if (direct > enough * all && order_sd < 0.05) return Drive::direct;
  if (belt > enough * all) return Drive::belt;
  return in_step ? Drive::engine_or_road : Drive::unknown;
}

std::vector<double> column(const std::vector<PitchStation>& stations, double PitchStation::*field,
                           double mean_) {
  std::vector<double> values;
  for (const PitchStation& s : stations) values.push_back(s.*field - mean_);
  return values;
}

double mean_of(const std::vector<PitchStation>& stations, double PitchStation::*field) {
  return mean(column(stations, field, 0.0));
}

std::vector<double> minus(std::vector<double> a, const std::vector<double>& b) {
  for (std::size_t i = 0; i < a.size(); ++i) a[i] -= b[i];
  return a;
}

/// One take's order, as the middle of its stations.
struct TakeOrder {
  double value;  // ln
  double sigma;  // of the measurement and of the take's speed
};

std::vector<TakeOrder> orders_of_takes(const std::vector<PitchStation>& stations) {
  std::vector<TakeOrder> orders;
  std::vector<std::size_t> seen;
  for (const PitchStation& first : stations) {
    if (std::find(seen.begin(), seen.end(), first.take) != seen.end()) continue;
    seen.push_back(first.take);
    std::vector<double> values;
    double sigma = 0.0;
    for (const PitchStation& s : stations) {
      if (s.take != first.take) continue;
      values.push_back(s.y - s.x);
      sigma = std::max(sigma, std::hypot(s.sigma, s.speed_sigma, s.lag_sigma * s.speed_rate));
    }
    orders.push_back({median(values), sigma});
  }
  std::sort(orders.begin(), orders.end(),
            [](const TakeOrder& a, const TakeOrder& b) { return a.value < b.value; });
  return orders;
}

/// Takes that agree, and their weighted mean.
struct OrderGroup {
  double mean;
  double sigma;
  double width;
};

OrderGroup group_of(std::span<const TakeOrder> takes) {
  double sum = 0.0;
  double weights = 0.0;
  for (const TakeOrder& t : takes) {
    const double weight = 1.0 / (t.sigma * t.sigma);
    sum += weight * t.value;
    weights += weight;
  }
  return {sum / weights, 1.0 / std::sqrt(weights), takes.back().value - takes.front().value};
}

/// Two groups of takes, each of one order, with a gap between them that neither their own width nor
/// the errors of their means explain: a mean between them is nobody's order. The interval of ln
/// order that covers both; none where the takes make one group.
std::optional<Interval> cover_of_two_groups(const std::vector<PitchStation>& stations) {
  constexpr std::size_t fewest = 2;  // a single take may be mistaken
  constexpr double clear_sigmas = 3.0;
  constexpr double clear_widths = 3.0;
  constexpr double least_gap = 0.004;
  const std::vector<TakeOrder> takes = orders_of_takes(stations);
  if (takes.size() < 2 * fewest) return std::nullopt;
  std::size_t split = fewest;
  for (std::size_t i = fewest; i + fewest <= takes.size(); ++i)
    if (takes[i].value - takes[i - 1].value > takes[split].value - takes[split - 1].value)
      split = i;
  const OrderGroup low = group_of(std::span(takes).first(split));
  const OrderGroup high = group_of(std::span(takes).subspan(split));
  const double gap = takes[split].value - takes[split - 1].value;
  const double widest = std::max(low.width, high.width);
  if (gap < std::max(least_gap, clear_widths * widest) ||
      high.mean - low.mean < clear_sigmas * std::hypot(low.sigma, high.sigma))
    return std::nullopt;
  return Interval{low.mean - kNormal95 * low.sigma, high.mean + kNormal95 * high.sigma};
}

PitchDoubt why_undetermined(const std::vector<Weighted>& laws) {
  const double engine = weight_of(laws, Law::locked) + weight_of(laws, Law::belt);
  const double road = weight_of(laws, Law::road);
  return engine > 0.05 && road > 0.05 && engine + road > 0.9 ? PitchDoubt::road_and_engine_together
                                                             : PitchDoubt::laws_too_close;
}

}  // namespace

std::string_view behaviour_name(Behaviour behaviour) {
  switch (behaviour) {
    case Behaviour::speed_locked:
      return "speed-locked";
    case Behaviour::road_locked:
      return "road-locked";
    case Behaviour::fixed_pitch:
      return "fixed-pitch";
    case Behaviour::unlocked:
      return "unlocked";
    case Behaviour::undetermined:
      break;
  }
  return "undetermined";
}

std::string_view drive_name(Drive drive) {
  switch (drive) {
    case Drive::direct:
      return "direct";
    case Drive::belt:
      return "belt";
    case Drive::engine_or_road:
      return "engine or road";
    case Drive::unknown:
      break;
  }
  return "unknown";
}

std::string_view law_name(Law law) {
  switch (law) {
    case Law::fixed:
      return "fixed";
    case Law::locked:
      return "locked";
    case Law::belt:
      return "belt";
    case Law::road:
      return "road";
    case Law::free:
      break;
  }
  return "free";
}

namespace {

/// What to take for the road speed of points that have none.
enum class RoadSpeed { as_noted, in_one_gear };

PitchVerdict judge_all(std::span<const PitchPoint> points, const PitchLawParameters& q,
                       RoadSpeed road_speed) {
  PitchVerdict verdict;
  const std::vector<PitchStation> stations = pitch_stations(points, q);
  if (stations.empty()) {
    verdict.doubt = PitchDoubt::too_few_points;
    return verdict;
  }
  const bool road_known = std::all_of(points.begin(), points.end(), [](const PitchPoint& p) {
    return p.road_speed_kmh && *p.road_speed_kmh > 0.0;
  });
  const double road_ratio = road_known ? ratio_of(stations, &PitchStation::v) : 1.0;
  verdict.speed_ratio = speed_ratio_of(points);
  const bool in_step = road_known ? gearing_ratio(stations) < q.least_speed_ratio
                                  : road_speed == RoadSpeed::in_one_gear;
  verdict.in_one_gear = in_step;
  verdict.stations = std::max(distinct_speeds(stations, &PitchStation::x),
                              road_known ? distinct_speeds(stations, &PitchStation::v) : 0);

  const double mean_x = mean_of(stations, &PitchStation::x);
  const double mean_y = mean_of(stations, &PitchStation::y);
  const double mean_v = mean_of(stations, &PitchStation::v);
  const std::vector<double> x = column(stations, &PitchStation::x, mean_x);
  const std::vector<double> y = column(stations, &PitchStation::y, mean_y);
  const std::vector<double> v = column(stations, &PitchStation::v, mean_v);

  std::vector<Weighted> laws;
  laws.push_back(
      {Law::fixed, q.prior_fixed, fit_constant(stations, y, kFixedScatter, Leans::nothing)});
  laws.push_back({Law::locked, q.prior_locked,
                  fit_constant(stations, minus(y, x), kDirectScatter, Leans::engine)});
  laws.push_back(
      {Law::belt, q.prior_belt, fit_constant(stations, minus(y, x), kBeltScatter, Leans::engine)});
  if (road_known)
    laws.push_back(
        {Law::road, q.prior_road, fit_constant(stations, minus(y, v), kRoadScatter, Leans::road)});
  else if (in_step)
    laws.push_back({Law::road, q.prior_road, laws[1].posterior});
  // What a gear turns keeps its order as strictly as what the crankshaft turns, in that gear.
  if (in_step && laws[1].posterior.log_evidence > laws.back().posterior.log_evidence)
    laws.back().posterior.log_evidence = laws[1].posterior.log_evidence;
  laws.push_back({Law::free, q.prior_free, fit_free(stations, x, y)});
  weigh(laws);

  const LawPosterior& locked = weight_of(laws, Law::locked) >= weight_of(laws, Law::belt)
                                   ? laws[1].posterior
                                   : laws[2].posterior;
  const double centre = 60.0 * std::exp(mean_y - mean_x);
  const auto two_groups = cover_of_two_groups(stations);
  const double middle = mean_y - mean_x;
  // A law of one order may lie in either group.
  const auto covering = [&](Interval log_order) {
    if (!two_groups) return log_order;
    return Interval{std::min(log_order.low, two_groups->low - middle),
                    std::max(log_order.high, two_groups->high - middle)};
  };
  const Interval log_order = covering(mixture_ci95(locked.constant));
  verdict.order = centre * std::exp(mixture_mean(locked.constant));
  verdict.order_ci95 =
      Interval{centre * std::exp(log_order.low), centre * std::exp(log_order.high)};
  verdict.scatter = locked.scatter;
  for (const Weighted& w : laws) {
    const bool free = w.law == Law::free;
    const bool follows = w.law == Law::locked || w.law == Law::belt;
    const std::vector<Gaussian>& constant = w.posterior.constant;
    const double at_reference = free ? mean_y : mean_y + mixture_mean(constant);
    const double exponent = free ? mixture_mean(constant) : follows ? 1.0 : 0.0;
    Interval level = mixture_ci95(free ? w.posterior.level : constant);
    if (follows) level = covering(level);
    verdict.laws.push_back({w.law, w.weight, exponent, std::exp(mean_x), std::exp(at_reference),
                            Interval{std::exp(mean_y + level.low), std::exp(mean_y + level.high)},
                            free ? std::optional(mixture_ci95(constant)) : std::nullopt});
  }
  std::sort(verdict.laws.begin(), verdict.laws.end(),
            [](const LawFit& a, const LawFit& b) { return a.weight > b.weight; });

  if (std::max(verdict.speed_ratio, road_ratio) < q.least_speed_ratio) {
    verdict.doubt = PitchDoubt::too_little_change;
    return verdict;
  }
  if (verdict.speed_ratio >= q.least_speed_ratio) {
    const LawPosterior any = fit_exponent(stations, x, y, {kFixedScatter.low, kFreeScatter.high});
    verdict.exponent = mixture_mean(any.constant);
    verdict.exponent_ci95 = mixture_ci95(any.constant);
  }
  if (verdict.stations < q.fewest_stations) {
    verdict.doubt = PitchDoubt::too_few_points;
    return verdict;
  }
  const double enough = q.odds / (1.0 + q.odds);
  const BehaviourWeight best = best_behaviour(laws, in_step);
  if (!(best.weight >= enough)) {
    verdict.doubt = why_undetermined(laws);
    return verdict;
  }
  // A law that says what does not move must have seen move what it says it does not follow.
  const bool engine_moved = verdict.speed_ratio >= q.least_speed_ratio;
  const bool road_moved = !road_known || road_ratio >= q.least_speed_ratio;
  const bool entitled = best.behaviour == Behaviour::road_locked    ? road_moved
                        : best.behaviour == Behaviour::speed_locked ? engine_moved
                                                                    : engine_moved && road_moved;
  if (!entitled) {
    verdict.doubt = PitchDoubt::too_little_change;
    return verdict;
  }
  verdict.behaviour = best.behaviour;
  if (best.behaviour == Behaviour::speed_locked)
    verdict.drive = drive_of(laws, in_step, *verdict.order,
                             *verdict.order * mixture_sd(locked.constant), enough);
  if (two_groups && verdict.drive == Drive::direct)
    verdict.drive = in_step ? Drive::engine_or_road : Drive::unknown;
  if (verdict.drive == Drive::engine_or_road) verdict.doubt = PitchDoubt::road_and_engine_together;
  return verdict;
}

bool contains_one(const std::optional<Interval>& exponent) {
  return exponent && exponent->contains(1.0);
}

/// Robust standard deviation of ln f over all points, whatever their speed.
double pitch_scatter(std::span<const PitchPoint> points) {
  std::vector<double> y;
  for (const PitchPoint& p : points)
    if (usable(p)) y.push_back(std::log(p.frequency_hz));
  const double centre = median(y);
  for (double& v : y) v = std::abs(v - centre);
  return 1.4826 * median(y);
}

/// One take that shows the tone for less time than a pitch that wanders keeps its place.
bool is_glimpse(std::span<const PitchPoint> points) {
  const auto [first, last] = std::ranges::minmax(points, {}, &PitchPoint::time);
  const bool one_take = std::ranges::all_of(
      points, [&](const PitchPoint& p) { return p.take == points.front().take; });
  return one_take && last.time - first.time < kShortMemory;
}

PitchVerdict doubted(PitchVerdict verdict, PitchDoubt doubt) {
  verdict.behaviour = Behaviour::undetermined;
  verdict.drive = Drive::unknown;
  verdict.doubt = doubt;
  return verdict;
}

}  // namespace

PitchVerdict judge_pitch(std::span<const PitchPoint> points, const PitchLawParameters& q) {
  PitchVerdict verdict = judge_all(points, q, RoadSpeed::as_noted);
  if (verdict.behaviour == Behaviour::unlocked && contains_one(verdict.exponent_ci95))
    verdict = doubted(std::move(verdict), PitchDoubt::laws_too_close);
  if (verdict.behaviour == Behaviour::fixed_pitch &&
      (pitch_scatter(points) > kFixedPointScatter || is_glimpse(points)))
    verdict = doubted(std::move(verdict), PitchDoubt::laws_too_close);
  std::vector<PitchPoint> sure;
  for (const PitchPoint& p : points)
    if (!p.motion_unknown) sure.push_back(p);
  const bool needs_motion = verdict.behaviour == Behaviour::speed_locked ||
                            verdict.behaviour == Behaviour::road_locked ||
                            verdict.behaviour == Behaviour::unlocked;
  if (sure.size() == points.size() || !needs_motion) return verdict;
  const PitchVerdict by_sure = judge_all(sure, q, RoadSpeed::as_noted);
  if (by_sure.in_one_gear && verdict.behaviour == Behaviour::speed_locked)
    return judge_all(points, q, RoadSpeed::in_one_gear);
  if (by_sure.behaviour == verdict.behaviour) return verdict;
  return doubted(std::move(verdict), PitchDoubt::road_and_engine_together);
}

}  // namespace howl
