#include "src/analysis/half_order_ruler.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kMostRulerOrder = 10.5;
constexpr double kLeastRulerOrder = 0.4;
constexpr std::size_t kStrongestLines = 24;  // what is weaker is as likely noise
constexpr std::size_t kLeastHits = 6;
constexpr std::size_t kFewestRulerOrders = 5;
constexpr double kLeastShare = 0.6;
constexpr double kReachSigmas = 3.0;
constexpr double kMostSpeedSigma = 0.035;  // a lagging record of a sweep
constexpr double kOtherScale = 0.008;      // so far off is another reading of the grid
constexpr double kMostRivalShare = 0.7;
constexpr double kScaleStep = 5e-4;
constexpr double kLineReach = 0.012;  // orders about a half order
constexpr double kMostLineReach = 0.03;
constexpr double kLeastRulerSigma = 2e-4;
constexpr double kPlaceSigmas = 2.5;
constexpr double kWithinTake = 4e-4;    // by which lines of one take disagree: its speed wanders
constexpr double kMostTolerance = 0.1;  // orders, of a gap of 0.25

double nearest_half_order(double order) { return 0.5 * std::round(2.0 * order); }

struct RulerLine {
  double order;
  double reach;  ///< orders about a half order
  double strength_db;
};

/// What a sighting says of the order, as its take's speed record has it.
RulerLine ruler_line(const Sighting& s) {
  std::vector<double> orders;
  std::vector<double> sigmas;
  for (const PitchPoint& p : s.points) {
    orders.push_back(60.0 * p.frequency_hz / p.rpm);
    sigmas.push_back(p.sigma_hz / p.frequency_hz);
  }
  const double order = median(orders);
  const double reach = kLineReach + kPlaceSigmas * median(sigmas) * order;
  return {order, std::min(kMostLineReach, reach), s.tone_to_noise_db};
}

double record_error(const Sighting& s) {
  std::vector<double> errors;
  for (const PitchPoint& p : s.points)
    errors.push_back(std::hypot(p.speed_sigma, p.lag_sigma * p.speed_rate));
  return median(errors);
}

struct TakeLines {
  std::vector<RulerLine> lines;
  double speed_sigma{};
};

std::map<std::size_t, TakeLines> lines_by_take(const std::vector<Sighting>& sightings) {
  std::map<std::size_t, TakeLines> takes;
  for (const Sighting& s : sightings) {
    if (s.points.empty()) continue;
    const RulerLine line = ruler_line(s);
    if (!(line.order > kLeastRulerOrder && line.order < kMostRulerOrder)) continue;
    TakeLines& take = takes[s.take];
    take.lines.push_back(line);
    take.speed_sigma = std::max(take.speed_sigma, record_error(s));
  }
  for (auto& [index, take] : takes) {
    std::stable_sort(
        take.lines.begin(), take.lines.end(),
        [](const RulerLine& a, const RulerLine& b) { return a.strength_db > b.strength_db; });
    if (take.lines.size() > kStrongestLines) take.lines.resize(kStrongestLines);
  }
  return takes;
}

/// Distance from the grid in units of the line's reach; 1 and more: off it.
double off_grid(const RulerLine& line, double scale) {
  const double order = line.order / (1.0 + scale);
  return std::abs(order - nearest_half_order(order)) / line.reach;
}

double weight_at(const std::vector<RulerLine>& lines, double scale) {
  double sum = 0.0;
  for (const RulerLine& line : lines) {
    const double off = off_grid(line, scale);
    if (off < 1.0) sum += 1.0 - off * off;
  }
  return sum;
}

/// The scale that puts most on the grid, of equals the smallest; none where another one does nearly
/// as well.
std::optional<double> best_scale(const TakeLines& take) {
  const int steps = static_cast<int>(std::ceil(kReachSigmas * take.speed_sigma / kScaleStep));
  double best = 0.0;
  double most = -1.0;
  for (int i = -steps; i <= steps; ++i) {
    const double share = std::abs(i) / std::max(1.0, 1.0 * steps);
    const double weight = weight_at(take.lines, i * kScaleStep) * (1.0 - 0.05 * share);
    if (weight > most) {
      most = weight;
      best = i * kScaleStep;
    }
  }
  for (int i = -steps; i <= steps; ++i)
    if (std::abs(i * kScaleStep - best) > kOtherScale &&
        weight_at(take.lines, i * kScaleStep) > kMostRivalShare * most)
      return std::nullopt;
  return best;
}

/// Least squares over the lines on the grid: high orders tell more of the scale.
std::optional<HalfOrderRuler> ruler_of(const TakeLines& take) {
  if (take.speed_sigma > kMostSpeedSigma || take.lines.size() < kLeastHits) return std::nullopt;
  const auto start = best_scale(take);
  if (!start) return std::nullopt;
  double weights = 0.0;
  double sum = 0.0;
  double squares = 0.0;
  std::size_t hits = 0;
  std::set<double> orders;
  for (const RulerLine& line : take.lines) {
    if (off_grid(line, *start) >= 1.0) continue;
    const double half = nearest_half_order(line.order / (1.0 + *start));
    if (half <= 0.0) continue;
    const double off = line.order / half - 1.0;
    weights += half * half;
    sum += half * half * off;
    squares += half * half * off * off;
    orders.insert(half);
    ++hits;
  }
  const double share = static_cast<double>(hits) / static_cast<double>(take.lines.size());
  if (hits < kLeastHits || orders.size() < kFewestRulerOrders || share < kLeastShare)
    return std::nullopt;
  const double scale = sum / weights;
  const double spread = std::sqrt(std::max(0.0, squares / weights - scale * scale));
  return HalfOrderRuler{std::log1p(scale),
                        std::max(kLeastRulerSigma, spread / std::sqrt(static_cast<double>(hits)))};
}

}  // namespace

RulerPlace HalfOrderRuler::place(double log_order, double line_sigma) const {
  const double order = std::exp(log_order - log_scale);
  const double tolerance = kPlaceSigmas * order * std::hypot(line_sigma, sigma, kWithinTake);
  if (tolerance > kMostTolerance || order < kLeastRulerOrder) return RulerPlace::unsure;
  const double off = std::abs(order - nearest_half_order(order));
  if (off <= tolerance) return RulerPlace::on_half_order;
  return off > 1.5 * tolerance ? RulerPlace::between : RulerPlace::unsure;
}

HalfOrderRulers half_order_rulers(const std::vector<Sighting>& sightings) {
  HalfOrderRulers rulers;
  for (const auto& [index, take] : lines_by_take(sightings))
    if (const auto ruler = ruler_of(take)) rulers.emplace(index, *ruler);
  return rulers;
}

}  // namespace howl
