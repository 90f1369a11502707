#include "dsp/log_lag.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "dsp/jackknife.h"
#include "dsp/order_map.h"
#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kOrders = 40.0;
constexpr double kBandOrders = 2.0;
constexpr std::size_t kGroups = 10;
constexpr double kEnoughChange = 1.08;
constexpr double kRival = 0.3;  // s
constexpr double kClear = 3.0;  // standard errors

/// Order spectra of stretches of a take, along one shifted curve.
struct Grouped {
  std::vector<std::vector<double>> power;  ///< kGroups sums
  double spacing{};
};

Grouped grouped_spectra(std::span<const float> sound, double sample_rate, const SpeedCurve& curve,
                        double highest_order) {
  const double seconds = static_cast<double>(sound.size()) / sample_rate;
  Grouped grouped;
  grouped.power.resize(kGroups);
  OrderMapParameters map;
  map.highest_order = highest_order;
  map.revolutions = 16.0;
  map.hop_revolutions = 8.0;
  OrderMap orders(curve, sample_rate, map, [&](const OrderColumn& column) {
    const double share = std::clamp(column.time.value / seconds, 0.0, 0.999999);
    auto& sum = grouped.power[static_cast<std::size_t>(share * kGroups)];
    sum.resize(column.power.size());
    for (std::size_t k = 0; k < sum.size(); ++k) sum[k] += static_cast<double>(column.power[k]);
  });
  orders.push(sound);
  orders.finish();
  grouped.spacing = orders.spacing();
  return grouped;
}

double flatness(std::span<const double> power) {
  double sum = 0.0;
  double log_sum = 0.0;
  for (const double p : power) {
    sum += p;
    log_sum += std::log(p + 1e-30);
  }
  const auto n = static_cast<double>(power.size());
  return std::log(sum / n + 1e-30) - log_sum / n;
}

/// Sum over bands of two orders, from the second on: nothing turns slower that helps.
double sharpness(const std::vector<double>& power, double spacing, double highest_order) {
  double sum = 0.0;
  for (double low = 1.0; low + kBandOrders <= highest_order; low += kBandOrders) {
    const auto from = static_cast<std::size_t>(low / spacing);
    const auto to = static_cast<std::size_t>((low + kBandOrders) / spacing);
    if (to > power.size()) break;
    sum += flatness(std::span(power).subspan(from, to - from));
  }
  return sum;
}

/// Sharpness of the whole, and with each group left out.
std::vector<double> sharpness_and_jackknife(const Grouped& grouped, double highest_order) {
  std::vector<double> all;
  for (const auto& group : grouped.power) {
    all.resize(std::max(all.size(), group.size()));
    for (std::size_t k = 0; k < group.size(); ++k) all[k] += group[k];
  }
  std::vector<double> values{sharpness(all, grouped.spacing, highest_order)};
  for (const auto& group : grouped.power) {
    std::vector<double> rest = all;
    for (std::size_t k = 0; k < group.size(); ++k) rest[k] -= group[k];
    values.push_back(sharpness(rest, grouped.spacing, highest_order));
  }
  return values;
}

struct Tried {
  double lag;
  std::vector<double> sharpness;  ///< of the whole, then with each group left out
};

/// Place of the maximum by the parabola through the sharpest and its neighbours.
double vertex(const std::vector<Tried>& tried, std::size_t best, std::size_t version) {
  const double left = tried[best - 1].sharpness[version];
  const double middle = tried[best].sharpness[version];
  const double right = tried[best + 1].sharpness[version];
  const double bend = left - 2.0 * middle + right;
  const double step = tried[best + 1].lag - tried[best].lag;
  if (bend >= 0.0) return tried[best].lag;
  return tried[best].lag + 0.5 * step * std::clamp((left - right) / bend, -1.0, 1.0);
}

std::size_t sharpest(const std::vector<Tried>& tried, std::size_t version) {
  return static_cast<std::size_t>(std::max_element(tried.begin(), tried.end(),
                                                   [&](const Tried& a, const Tried& b) {
                                                     return a.sharpness[version] <
                                                            b.sharpness[version];
                                                   }) -
                                  tried.begin());
}

bool clearly_sharper(const Tried& best, const Tried& other) {
  std::vector<double> gain;
  for (std::size_t v = 0; v < best.sharpness.size(); ++v)
    gain.push_back(best.sharpness[v] - other.sharpness[v]);
  return gain.front() > kClear * jackknife_error(std::span(gain).subspan(1));
}

/// Start of the stretch of `length` in which ln n varies most.
double liveliest(const SpeedCurve& curve, double seconds, double length) {
  double best = -1.0;
  double start = 0.0;
  const double step = std::max(0.25, (seconds - length) / 200.0);
  for (double from = 0.0; from <= seconds - length + 1e-9; from += step) {
    double sum = 0.0;
    double before = std::log(curve.at(Seconds(from)).value);
    for (int i = 1; i <= 40; ++i) {
      const double now = std::log(curve.at(Seconds(from + length * i / 40.0)).value);
      sum += std::abs(now - before);
      before = now;
    }
    if (sum <= best) continue;
    best = sum;
    start = from;
  }
  return start;
}

}  // namespace

LogLag find_log_lag(std::span<const float> sound, double sample_rate, const SpeedCurve& curve,
                    const LogLagParameters& parameters) {
  const double seconds = static_cast<double>(sound.size()) / sample_rate;
  const double length = std::min(seconds, parameters.longest.value);
  if (length < 2.0 * parameters.reach.value) return {LagDoubt::too_short, {}, {}};
  const double start = liveliest(curve, seconds, length);
  const SpeedCurve::Range range = curve.range(Seconds(start), Seconds(start + length));
  if (range.high / range.low < kEnoughChange) return {LagDoubt::steady, {}, {}};

  const auto part = sound.subspan(static_cast<std::size_t>(start * sample_rate),
                                  static_cast<std::size_t>(length * sample_rate));
  const double highest = std::min(kOrders, 0.35 * sample_rate * 60.0 / range.high.value);
  const auto attempt = [&](double lag) {
    const SpeedCurve moved = curve.later(Seconds(-lag - start));
    return Tried{
        lag, sharpness_and_jackknife(grouped_spectra(part, sample_rate, moved, highest), highest)};
  };
  std::vector<Tried> coarse;
  for (double lag = -parameters.reach.value; lag <= parameters.reach.value + 1e-9;
       lag += parameters.step.value)
    coarse.push_back(attempt(lag));
  const std::size_t top = sharpest(coarse, 0);
  if (top == 0 || top + 1 == coarse.size()) return {LagDoubt::not_sharp, {}, {}};
  const bool clear = std::all_of(coarse.begin(), coarse.end(), [&](const Tried& other) {
    return std::abs(other.lag - coarse[top].lag) < kRival || clearly_sharper(coarse[top], other);
  });
  if (!clear) return {LagDoubt::not_sharp, {}, {}};

  const double fine_step = parameters.step.value / 5.0;
  std::vector<Tried> fine;
  for (int i = -7; i <= 7; ++i) fine.push_back(attempt(coarse[top].lag + fine_step * i));
  std::vector<double> places;
  for (std::size_t v = 0; v <= kGroups; ++v) {
    const std::size_t at = std::clamp<std::size_t>(sharpest(fine, v), 1, fine.size() - 2);
    places.push_back(vertex(fine, at, v));
  }
  return {LagDoubt::none, Seconds(places.front()),
          Seconds(std::hypot(jackknife_error(std::span(places).subspan(1)), fine_step / 4.0))};
}

}  // namespace howl
