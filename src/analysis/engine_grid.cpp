#include "src/analysis/engine_grid.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "dsp/peaks.h"
#include "src/analysis/sighting.h"

namespace howl {

namespace {

constexpr double kSureSigmas = 2.5;
constexpr double kAgreement = 0.002;
constexpr double kLeastSigma = 0.0004;

/// Position over the nearest half order, for every peak that no other half order could explain.
std::vector<double> ratios_to_half_orders(const PowerSpectrum& orders, double sigma) {
  PeakParameters parameters;
  parameters.lowest = 0.8;
  parameters.highest = 16.2;
  parameters.min_height = Decibel(6.0);
  parameters.floor_width = 3.0;
  std::vector<double> ratios;
  for (const Peak& peak : find_peaks(orders, parameters)) {
    const double half = 0.5 * std::round(2.0 * peak.position);
    const double off = std::abs(peak.position - half);
    const double reach = 3.0 * sigma * half;
    if (reach < 0.2 && off < reach + 0.5 * orders.spacing) ratios.push_back(peak.position / half);
  }
  return ratios;
}

std::vector<double> within(const std::vector<double>& values, double centre, double reach) {
  std::vector<double> near;
  for (const double v : values)
    if (std::abs(v - centre) <= reach) near.push_back(v);
  return near;
}

}  // namespace

double EngineGrid::tolerance_at(double order, double line_spacing) const {
  return 2.5 * line_spacing + kSureSigmas * sigma * order;
}

bool EngineGrid::clear_of_half_orders(double order, double line_spacing) const {
  const double half = 0.5 * std::round(2.0 * order / scale) * scale;
  const double tolerance = tolerance_at(order, line_spacing);
  return tolerance < 0.25 && std::abs(order - half) > tolerance;
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

EngineGrid engine_grid(const PowerSpectrum& orders, double sigma) {
  const EngineGrid by_record{1.0, sigma, false};
  if (orders.power.empty() || sigma < 2.0 * kLeastSigma) return by_record;
  const std::vector<double> ratios = ratios_to_half_orders(orders, sigma);
  std::vector<double> agreeing;
  for (const double centre : ratios) {
    std::vector<double> near = within(ratios, centre, kAgreement);
    if (near.size() > agreeing.size()) agreeing = std::move(near);
  }
  if (agreeing.size() < 3 || 2 * agreeing.size() <= ratios.size()) return by_record;
  const double spread =
      standard_deviation(agreeing) / std::sqrt(static_cast<double>(agreeing.size()));
  return {mean(agreeing), std::max(kLeastSigma, 2.0 * spread), true};
}

}  // namespace howl
