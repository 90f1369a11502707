#include "src/analysis/engine_grid.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "dsp/order_map.h"
#include "dsp/peaks.h"
#include "src/analysis/sighting.h"

namespace howl {

namespace {

constexpr double kSureSigmas = 2.5;
constexpr double kGoodRecord = 0.001;
constexpr double kLeastGridSigma = 0.0004;
constexpr double kHit = 0.03;  // orders from a half order, half a line of a block
constexpr double kLeastHitShare = 0.6;
constexpr std::size_t kMostLines = 3000;
constexpr std::size_t kLeastLines = 8;

/// A strong line of one block.
struct ReadLine {
  double time{};
  double order{};
  double rate{};  ///< d ln n/dt of the record there, 1/s
  double weight{};
};

/// read order = true order · (1 + scale + lag·rate)
struct Correction {
  double scale{};
  double lag{};

  double order(const ReadLine& line) const { return line.order / (1.0 + scale + lag * line.rate); }
};

double nearest_half(double order) { return 0.5 * std::round(2.0 * order); }

std::vector<ReadLine> strong_lines(const TakeAudio& take) {
  OrderMapParameters parameters{
      .highest_order = 12.0, .revolutions = 16.0, .hop_revolutions = 16.0};
  std::vector<ReadLine> lines;
  PowerSpectrum block{.spacing = 1.0 / 16.0,
                      .window = WindowKind::hann,
                      .noise_bandwidth_bins = 1.5,
                      .effective_averages = 1.0,
                      .power = {}};
  OrderMap map(take.speed, take.sample_rate, parameters, [&](const OrderColumn& column) {
    if (lines.size() >= kMostLines) return;
    const double half = 30.0 * column.revolutions_per_block / column.speed.value;
    if (reaches_into(take.left_out, column.time.value - half, column.time.value + half)) return;
    block.power.assign(column.power.begin(), column.power.end());
    for (const Peak& peak : find_peaks(
             block,
             {.lowest = 0.8, .highest = 10.2, .min_height = Decibel(12.0), .floor_width = 3.0}))
      lines.push_back({column.time.value, peak.position, speed_rate(take, column.time.value),
                       peak.above_floor.value});
  });
  take.stream([&](std::span<const float> chunk) {
    if (lines.size() < kMostLines) map.push(chunk);
  });
  map.finish();
  return lines;
}

double weight_on_grid(const std::vector<ReadLine>& lines, const Correction& correction) {
  double sum = 0.0;
  for (const ReadLine& line : lines) {
    const double order = correction.order(line);
    const double off = (order - nearest_half(order)) / kHit;
    if (std::abs(off) < 1.0) sum += line.weight * (1.0 - off * off);
  }
  return sum;
}

/// The correction that puts most on the grid; of equals the smallest.
Correction best_correction(const std::vector<ReadLine>& lines, double scale_sigma,
                           double lag_sigma) {
  Correction best;
  double most = -1.0;
  constexpr double scale_step = 0.001;
  constexpr double lag_step = 0.02;
  const int scales = static_cast<int>(std::ceil(3.0 * scale_sigma / scale_step));
  const int lags = static_cast<int>(std::ceil(3.0 * lag_sigma / lag_step));
  for (int i = -scales; i <= scales; ++i)
    for (int j = -lags; j <= lags; ++j) {
      const Correction tried{i * scale_step, j * lag_step};
      const double far = std::hypot(i / std::max(1.0, 1.0 * scales), j / std::max(1.0, 1.0 * lags));
      const double weight = weight_on_grid(lines, tried) * (1.0 - 0.05 * far);
      if (weight > most) {
        most = weight;
        best = tried;
      }
    }
  return best;
}

struct Residuals {
  Correction correction;
  double spread{};  ///< relative, of what is left
  double count{};
  double share{};  ///< of the lines, by weight, that lie on the grid
};

/// Weighted least squares of scale and lag over the lines near the grid: ln(read/true), and lines
/// of high order tell more.
Residuals fitted(const std::vector<ReadLine>& lines, const Correction& start, bool with_lag) {
  double all = 0.0;
  double on = 0.0;
  double s0 = 0.0;
  double s1 = 0.0;
  double s2 = 0.0;
  double y0 = 0.0;
  double y1 = 0.0;
  double yy = 0.0;
  double count = 0.0;
  for (const ReadLine& line : lines) {
    all += line.weight;
    const double order = start.order(line);
    const double half = nearest_half(order);
    if (half <= 0.0 || std::abs(order - half) > kHit) continue;
    on += line.weight;
    const double w = half * half;
    const double y = line.order / half - 1.0;
    count += 1.0;
    s0 += w;
    s1 += w * line.rate;
    s2 += w * line.rate * line.rate;
    y0 += w * y;
    y1 += w * y * line.rate;
    yy += w * y * y;
  }
  Residuals result{start, 0.0, count, all > 0.0 ? on / all : 0.0};
  if (count < 2.0) return result;
  const double determinant = s0 * s2 - s1 * s1;
  if (with_lag && determinant > 1e-6 * s0 * s0 * 1e-4)
    result.correction = {(y0 * s2 - y1 * s1) / determinant, (s0 * y1 - s1 * y0) / determinant};
  else
    result.correction = {(y0 - start.lag * s1) / s0, start.lag};
  const auto [a, b] = result.correction;
  const double left = yy - 2.0 * a * y0 - 2.0 * b * y1 + a * a * s0 + 2.0 * a * b * s1 + b * b * s2;
  result.spread = std::sqrt(std::max(0.0, left / s0));
  return result;
}

SpeedCurve corrected(const TakeAudio& take, const Correction& correction, double sigma) {
  const double factor = 1.0 + correction.scale;
  if (correction.lag == 0.0 && is_hold(take) && take.speed_source == "entered")
    return SpeedCurve::constant(Rpm(factor * take.speed.at(Seconds(0.0)).value), sigma);
  constexpr double step = 0.1;
  std::vector<SpeedPoint> points;
  for (double t = 0.0; t < take.seconds + step; t += step)
    points.push_back({Seconds(t), Rpm(factor * take.speed.at(Seconds(t + correction.lag)).value)});
  return SpeedCurve::through(points, sigma);
}

}  // namespace

double EngineGrid::tolerance_at(double order, double line_spacing) const {
  return 2.5 * line_spacing + kSureSigmas * std::hypot(sigma, smear) * order;
}

bool EngineGrid::clear_of_half_orders(double order, double line_spacing) const {
  constexpr double half_the_gap = 0.125;
  const double tolerance = tolerance_at(order, line_spacing);
  return tolerance < half_the_gap + 1.5 * line_spacing &&
         std::abs(order - nearest_half(order)) > tolerance;
}

double speed_sigma(const TakeAudio& take) {
  if (take.lag_sigma == 0.0) return take.speed.relative_error();
  double sum = 0.0;
  double count = 0.0;
  for (double t = 0.0; t < take.seconds; t += 0.25, count += 1.0) {
    const double rate = speed_rate(take, t);
    sum += rate * rate;
  }
  const double by_lag = take.lag_sigma * std::sqrt(sum / std::max(1.0, count));
  return std::hypot(take.speed.relative_error(), by_lag);
}

EngineGrid engine_grid(const TakeAudio& take) {
  const double sigma = speed_sigma(take);
  const EngineGrid as_recorded{take.speed, sigma, 0.0, false};
  if (sigma < kGoodRecord) return as_recorded;
  const std::vector<ReadLine> lines = strong_lines(take);
  if (lines.size() < kLeastLines) return as_recorded;
  const bool lags = sigma > 1.5 * take.speed.relative_error();
  const Correction coarse =
      best_correction(lines, take.speed.relative_error(), lags ? take.lag_sigma : 0.0);
  const Residuals close = fitted(lines, fitted(lines, coarse, lags).correction, lags);
  if (close.share < kLeastHitShare || close.count < static_cast<double>(kLeastLines))
    return as_recorded;
  const double own = std::max(kLeastGridSigma, 2.0 * close.spread / std::sqrt(close.count));
  return {corrected(take, close.correction, own), own, close.spread, true};
}

}  // namespace howl
