#include "dsp/ridge.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <utility>

namespace howl {

namespace {

constexpr std::size_t kMemory = 8;  // points that the predictor looks back on
constexpr double kGateSigmas = 4.0;
constexpr double kLevelScaleDb = 6.0;  // a jump of this much counts as one sigma
constexpr double kMinRelativeSigma = 5e-4;
// A ridge too young to predict must not take a peak from one that expected it.
constexpr double kYoungCost = 9.0;

/// What a live ridge expects of the next frame, in ln f.
struct Prediction {
  double low;  // any value from low to high is as expected
  double high;
  double sigma;
};

struct Live {
  Ridge ridge;
  std::vector<double> log_speed;  // at its points
  std::size_t born_frame;
  std::size_t last_frame;
};

double relative_sigma(const RidgePoint& p) {
  return std::max(p.sigma / p.frequency, kMinRelativeSigma);
}

Prediction predict_from_start(const RidgePoint& last, double dt, const RidgeParameters& q) {
  const double centre = std::log(last.frequency);
  const double low = std::min({0.0, q.slope_low, q.slope_high}) - q.slope_margin;
  const double high = std::max({0.0, q.slope_low, q.slope_high}) + q.slope_margin;
  return {centre + low * dt, centre + high * dt, relative_sigma(last)};
}

/// Weighted line through the last points, extrapolated; its variance carries the scatter seen. What
/// `moved` says of each point is taken off ln f.
Prediction predict_from_line(std::span<const RidgePoint> recent, std::span<const double> moved,
                             double time, const RidgeParameters& q) {
  double sw = 0, st = 0, sy = 0, stt = 0, sty = 0;
  for (std::size_t i = 0; i < recent.size(); ++i) {
    const double s = relative_sigma(recent[i]);
    const double w = 1.0 / (s * s);
    const double t = recent[i].time - time;
    const double y = std::log(recent[i].frequency) - moved[i];
    sw += w, st += w * t, sy += w * y, stt += w * t * t, sty += w * t * y;
  }
  const double determinant = sw * stt - st * st;
  const double slope = (sw * sty - st * sy) / determinant;
  const double centre = (stt * sy - st * sty) / determinant;
  double chi2 = 0;
  for (std::size_t i = 0; i < recent.size(); ++i) {
    const double r =
        std::log(recent[i].frequency) - moved[i] - centre - slope * (recent[i].time - time);
    const double s = relative_sigma(recent[i]);
    chi2 += r * r / (s * s);
  }
  const double stretch = std::max(1.0, chi2 / static_cast<double>(recent.size() - 2));
  const double dt = time - recent.back().time;
  // A tone's slope itself may change: half the margin per prediction step.
  const double sigma = std::sqrt(stretch * stt / determinant) + 0.5 * q.slope_margin * dt;
  return {centre, centre, sigma};
}

/// What the tone would do by its own motion so far, and by its motion against the engine's speed.
std::vector<Prediction> predict(const Live& live, const PeakFrame& frame,
                                const RidgeParameters& q) {
  const std::vector<RidgePoint>& points = live.ridge.points;
  if (points.size() < 4)
    return {predict_from_start(points.back(), frame.time - points.back().time, q)};
  const std::size_t count = std::min(kMemory, points.size());
  const auto recent = std::span(points).last(count);
  std::vector<double> moved(count, 0.0);
  std::vector<Prediction> all{predict_from_line(recent, moved, frame.time, q)};
  const auto log_speed = std::span(live.log_speed).last(count);
  for (std::size_t i = 0; i < count; ++i) moved[i] = log_speed[i] - frame.log_speed;
  all.push_back(predict_from_line(recent, moved, frame.time, q));
  return all;
}

struct Candidate {
  double cost;
  std::size_t live;
  std::size_t peak;
};

double miss_of(const Prediction& expected, const RidgePoint& peak) {
  const double y = std::log(peak.frequency);
  const double s = std::hypot(expected.sigma, relative_sigma(peak));
  return std::max({0.0, expected.low - y, y - expected.high}) / s;
}

/// Cost of a peak as the next point of a ridge; none outside the gate.
std::optional<double> link_cost(const std::vector<Prediction>& expected, double level_db,
                                const RidgePoint& peak) {
  double miss = std::numeric_limits<double>::infinity();
  for (const Prediction& one : expected) miss = std::min(miss, miss_of(one, peak));
  if (miss > kGateSigmas) return std::nullopt;
  const double jump = (10.0 * std::log10(peak.power) - level_db) / kLevelScaleDb;
  return miss * miss + jump * jump;
}

double recent_level_db(const Ridge& ridge) {
  double sum = 0.0;
  const std::size_t recent = std::min<std::size_t>(4, ridge.points.size());
  for (const RidgePoint& p : std::span(ridge.points).last(recent))
    sum += 10.0 * std::log10(p.power);
  return sum / static_cast<double>(recent);
}

std::vector<Candidate> candidates(const std::vector<Live>& alive, const PeakFrame& frame,
                                  const RidgeParameters& q) {
  std::vector<Candidate> found;
  for (std::size_t i = 0; i < alive.size(); ++i) {
    const std::vector<Prediction> expected = predict(alive[i], frame, q);
    const double level = recent_level_db(alive[i].ridge);
    const double handicap = alive[i].ridge.points.size() < kMemory ? kYoungCost : 0.0;
    for (std::size_t k = 0; k < frame.peaks.size(); ++k)
      if (const auto cost = link_cost(expected, level, frame.peaks[k]))
        found.push_back({*cost + handicap, i, k});
  }
  std::sort(found.begin(), found.end(),
            [](const Candidate& a, const Candidate& b) { return a.cost < b.cost; });
  return found;
}

bool worth_keeping(const Live& live, const RidgeParameters& q) {
  const auto& points = live.ridge.points;
  const double frames = static_cast<double>(live.last_frame - live.born_frame + 1);
  return points.size() >= q.fewest_points &&
         points.back().time - points.front().time >= q.shortest_life &&
         static_cast<double>(points.size()) >= q.fewest_points_share * frames;
}

void retire(std::vector<Live>& alive, double time, const RidgeParameters& q,
            std::vector<Ridge>& finished) {
  const auto over = std::stable_partition(alive.begin(), alive.end(), [&](const Live& live) {
    return time - live.ridge.points.back().time <= q.longest_gap;
  });
  for (auto it = over; it != alive.end(); ++it)
    if (worth_keeping(*it, q)) finished.push_back(std::move(it->ridge));
  alive.erase(over, alive.end());
}

}  // namespace

std::vector<Ridge> link_ridges(std::span<const PeakFrame> frames,
                               const RidgeParameters& parameters) {
  std::vector<Live> alive;
  std::vector<Ridge> finished;
  for (std::size_t f = 0; f < frames.size(); ++f) {
    const PeakFrame& frame = frames[f];
    retire(alive, frame.time, parameters, finished);
    std::vector<bool> ridge_taken(alive.size(), false);
    std::vector<bool> peak_taken(frame.peaks.size(), false);
    for (const Candidate& c : candidates(alive, frame, parameters)) {
      if (ridge_taken[c.live] || peak_taken[c.peak]) continue;
      ridge_taken[c.live] = peak_taken[c.peak] = true;
      alive[c.live].ridge.points.push_back(frame.peaks[c.peak]);
      alive[c.live].log_speed.push_back(frame.log_speed);
      alive[c.live].last_frame = f;
    }
    for (std::size_t k = 0; k < frame.peaks.size(); ++k)
      if (!peak_taken[k]) alive.push_back({{{frame.peaks[k]}}, {frame.log_speed}, f, f});
  }
  for (Live& live : alive)
    if (worth_keeping(live, parameters)) finished.push_back(std::move(live.ridge));
  std::stable_sort(finished.begin(), finished.end(), [](const Ridge& a, const Ridge& b) {
    return a.points.size() > b.points.size();
  });
  return finished;
}

namespace {

constexpr double kLeastHop = 0.008;  // ln f: a step this far off a law is a hop
constexpr std::size_t kFewestInPiece = 6;
constexpr std::size_t kStride = 4;  // steps over which a slope is judged

/// How far each step of ln f is off a law whose own step is `law_step(i)`.
template <class Function>
std::vector<double> misses(const Ridge& ridge, const Function& law_step) {
  std::vector<double> miss;
  for (std::size_t i = 1; i < ridge.points.size(); ++i)
    miss.push_back(std::abs(std::log(ridge.points[i].frequency / ridge.points[i - 1].frequency) -
                            law_step(i)));
  return miss;
}

/// Share of the telling strides (those over which the speed moved well beyond the error of the
/// pitch) that are closer to a law than a third of what the speed moved. `law_share` is 1 for a law
/// that goes with the speed, 0 for one that stands still.
double share_obeying(const Ridge& ridge, std::span<const double> log_speed, double law_share,
                     std::size_t stride) {
  double telling = 0.0;
  double obeying = 0.0;
  for (std::size_t i = stride; i < ridge.points.size(); ++i) {
    const RidgePoint& from = ridge.points[i - stride];
    const RidgePoint& to = ridge.points[i];
    const double speed_step = log_speed[i] - log_speed[i - stride];
    const double moved = std::abs(speed_step);
    if (moved < 3.0 * std::hypot(relative_sigma(from), relative_sigma(to))) continue;
    telling += 1.0;
    const double miss = std::log(to.frequency / from.frequency) - law_share * speed_step;
    obeying += std::abs(miss) < moved / 3.0 ? 1.0 : 0.0;
  }
  return telling < 5.0 ? 0.0 : obeying / telling;
}

bool mostly_obeys(const Ridge& ridge, std::span<const double> log_speed, double law_share) {
  return share_obeying(ridge, log_speed, law_share, 1) > 0.5 ||
         share_obeying(ridge, log_speed, law_share, kStride) > 0.5;
}

std::vector<Ridge> cut(const Ridge& ridge, const std::vector<double>& miss) {
  std::vector<Ridge> pieces(1);
  for (std::size_t i = 0; i < ridge.points.size(); ++i) {
    if (i > 0) {
      const double error =
          std::hypot(relative_sigma(ridge.points[i]), relative_sigma(ridge.points[i - 1]));
      if (miss[i - 1] > std::max(kLeastHop, 5.0 * error)) pieces.emplace_back();
    }
    pieces.back().points.push_back(ridge.points[i]);
  }
  if (pieces.size() == 1) return pieces;
  std::erase_if(pieces, [](const Ridge& r) { return r.points.size() < kFewestInPiece; });
  return pieces;
}

}  // namespace

std::vector<Ridge> split_at_hops(const Ridge& ridge, std::span<const double> log_speed) {
  const auto with_speed =
      misses(ridge, [&](std::size_t i) { return log_speed[i] - log_speed[i - 1]; });
  if (mostly_obeys(ridge, log_speed, 1.0)) return cut(ridge, with_speed);
  const auto standing = misses(ridge, [](std::size_t) { return 0.0; });
  if (mostly_obeys(ridge, log_speed, 0.0)) return cut(ridge, standing);
  return {ridge};
}

}  // namespace howl
