#include "dsp/pitch_stations.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace howl {

namespace {

constexpr double kStationFloor = 2e-4;
constexpr std::size_t kMostStations = 60;

/// Line through (x, y) of the points, by least squares; slope 0 where x does not vary.
struct FittedLine {
  double x0, y0, slope;
  double residual(double x, double y) const { return y - y0 - slope * (x - x0); }
};

FittedLine fit_line(std::span<const PitchPoint> points) {
  double sx = 0, sy = 0, sxx = 0, sxy = 0;
  const auto n = static_cast<double>(points.size());
  for (const PitchPoint& p : points) {
    sx += std::log(p.rpm);
    sy += std::log(p.frequency_hz);
  }
  const double x0 = sx / n;
  const double y0 = sy / n;
  for (const PitchPoint& p : points) {
    const double dx = std::log(p.rpm) - x0;
    sxx += dx * dx;
    sxy += dx * (std::log(p.frequency_hz) - y0);
  }
  return {x0, y0, sxx > 1e-10 ? sxy / sxx : 0.0};
}

/// Points that lie within 4 robust deviations of their own line.
std::vector<PitchPoint> without_outliers(std::span<const PitchPoint> points) {
  if (points.size() < 5) return {points.begin(), points.end()};
  const FittedLine line = fit_line(points);
  std::vector<double> miss;
  for (const PitchPoint& p : points)
    miss.push_back(std::abs(line.residual(std::log(p.rpm), std::log(p.frequency_hz))));
  const double limit = std::max(4.0 * 1.4826 * median(miss), kStationFloor);
  std::vector<PitchPoint> kept;
  for (std::size_t i = 0; i < points.size(); ++i)
    if (miss[i] <= limit) kept.push_back(points[i]);
  return kept;
}

PitchStation condense(std::span<const PitchPoint> all) {
  const std::vector<PitchPoint> points = without_outliers(all);
  const auto n = static_cast<double>(points.size());
  const FittedLine line = fit_line(points);
  PitchStation s{.x = line.x0, .y = line.y0, .take = points.front().take};
  double measured = 0.0;
  double scatter = 0.0;
  for (const PitchPoint& p : points) {
    const double relative = p.sigma_hz / p.frequency_hz;
    measured += relative * relative;
    const double r = line.residual(std::log(p.rpm), std::log(p.frequency_hz));
    scatter += r * r;
    s.v += (p.road_speed_kmh.value_or(0.0) > 0.0 ? std::log(*p.road_speed_kmh) : 0.0) / n;
    s.time += p.time / n;
    s.speed_rate += p.speed_rate / n;
    s.speed_sigma = std::max(s.speed_sigma, p.speed_sigma);
    s.lag_sigma = std::max(s.lag_sigma, p.lag_sigma);
  }
  const double degrees = std::max(1.0, n - 2.0);
  const double variance = std::max(measured / n, n > 3 ? scatter / degrees : 0.0);
  // Frames overlap by half, so that half of them are independent.
  const double independent = std::max(1.0, 0.5 * n);
  s.sigma = std::sqrt(variance / independent + kStationFloor * kStationFloor);
  return s;
}

/// Splits one take's points, sorted by speed, into at most `most` bins of equal width in ln n.
void add_stations(std::vector<PitchPoint> points, std::size_t most,
                  std::vector<PitchStation>& out) {
  std::sort(points.begin(), points.end(),
            [](const PitchPoint& a, const PitchPoint& b) { return a.rpm < b.rpm; });
  const double low = std::log(points.front().rpm);
  const double width = std::log(points.back().rpm) - low;
  // A take whose speed is steady within a per cent or two is one station, however long it is.
  const auto bins = std::clamp<std::size_t>(static_cast<std::size_t>(width / 0.02), 1, most);
  const auto bin_of = [&](const PitchPoint& p) {
    if (bins == 1) return std::size_t{0};
    const double place = (std::log(p.rpm) - low) / width * static_cast<double>(bins);
    return std::min(bins - 1, static_cast<std::size_t>(place));
  };
  for (std::size_t first = 0; first < points.size();) {
    std::size_t last = first;
    while (last < points.size() && bin_of(points[last]) == bin_of(points[first])) ++last;
    out.push_back(condense(std::span(points).subspan(first, last - first)));
    first = last;
  }
}

}  // namespace

bool usable(const PitchPoint& p) {
  const bool finite = std::isfinite(p.frequency_hz) && std::isfinite(p.rpm) &&
                      std::isfinite(p.sigma_hz) && std::isfinite(p.speed_rate) &&
                      std::isfinite(p.road_speed_kmh.value_or(0.0));
  const auto error = [](double e) { return e >= 0.0 && e < 1e6; };
  return finite && p.frequency_hz > 0.0 && p.rpm > 0.0 && error(p.sigma_hz) &&
         error(p.speed_sigma) && error(p.lag_sigma);
}

std::vector<PitchStation> pitch_stations(std::span<const PitchPoint> points,
                                         const PitchLawParameters& q) {
  std::map<std::size_t, std::vector<PitchPoint>> takes;
  for (const PitchPoint& p : points)
    if (usable(p)) takes[p.take].push_back(p);
  // Holds need one station each; sweeps share the rest.
  const auto sweeps = static_cast<std::size_t>(std::count_if(
      takes.begin(), takes.end(), [](const auto& take) { return take.second.size() > 1; }));
  const std::size_t most =
      sweeps == 0 ? 1
                  : std::clamp<std::size_t>(kMostStations / sweeps, 3,
                                            std::max<std::size_t>(3, q.stations_a_take));
  std::vector<PitchStation> stations;
  for (auto& [take, own] : takes) add_stations(std::move(own), most, stations);
  return stations;
}

double ratio_of(const std::vector<PitchStation>& stations, double PitchStation::*field) {
  const auto [low, high] = std::minmax_element(
      stations.begin(), stations.end(),
      [&](const PitchStation& a, const PitchStation& b) { return a.*field < b.*field; });
  return std::exp((*high).*field - (*low).*field);
}

double gearing_ratio(const std::vector<PitchStation>& stations) {
  double low = 1e300;
  double high = -1e300;
  for (const PitchStation& s : stations) {
    low = std::min(low, s.x - s.v);
    high = std::max(high, s.x - s.v);
  }
  return std::exp(high - low);
}

double speed_ratio_of(std::span<const PitchPoint> points) {
  double low = 1e300;
  double high = 0.0;
  for (const PitchPoint& p : points) {
    if (!usable(p)) continue;
    low = std::min(low, p.rpm);
    high = std::max(high, p.rpm);
  }
  return high / low;
}

std::size_t distinct_speeds(const std::vector<PitchStation>& stations,
                            double PitchStation::*field) {
  std::vector<double> values;
  for (const PitchStation& s : stations) values.push_back(s.*field);
  std::sort(values.begin(), values.end());
  std::size_t count = 0;
  double last = -1e9;
  for (const double v : values)
    if (v - last > 0.015) {
      ++count;
      last = v;
    }
  return count;
}

}  // namespace howl
