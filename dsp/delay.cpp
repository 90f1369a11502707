#include "dsp/delay.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

namespace howl {
namespace {

constexpr double kAlpha = 0.01;
constexpr double kRivalShare = 0.75;
constexpr double kRivalErrors = 4.0;
constexpr double kStepsPerPeriod = 8.0;  // of the highest coherent line

/// A significantly coherent line, ready for summing.
struct CoherentLine {
  double frequency;
  double coherence;
  std::complex<double> direction;  // of the cross spectrum, times the weight
  double weight;
};

double weight_of(double coherence, DelayWeighting weighting) {
  return weighting == DelayWeighting::phase_transform ? 1.0 : coherence / (1.0 - coherence);
}

std::vector<CoherentLine> coherent_lines(const CrossSpectrum& spectrum, DelayWeighting weighting) {
  std::vector<CoherentLine> lines;
  const std::vector<double> found = coherence(spectrum);
  if (found.size() < 3 || spectrum.effective_averages < 2.0) return lines;
  const double limit =
      coherence_limit(spectrum.effective_averages, kAlpha / static_cast<double>(found.size() - 2));
  const double highest = 1.0 - 1.0 / (4.0 * spectrum.effective_averages);
  for (std::size_t k = 1; k + 1 < found.size(); ++k) {
    if (found[k] <= limit) continue;
    const double own = std::min(highest, unbiased_coherence(found[k], spectrum.effective_averages));
    const double weight = weight_of(own, weighting);
    lines.push_back({spectrum.position(k), own,
                     weight * spectrum.cross[k] / std::abs(spectrum.cross[k]), weight});
  }
  return lines;
}

/// The normalised correlation at equally spaced delays; at most 1.
struct Correlation {
  double step;
  std::ptrdiff_t reach;  // places on either side of delay 0
  std::vector<double> value;

  double delay(std::size_t place) const {
    return step * static_cast<double>(static_cast<std::ptrdiff_t>(place) - reach);
  }
};

double total_weight(const std::vector<CoherentLine>& lines) {
  double sum = 0.0;
  for (const CoherentLine& line : lines) sum += line.weight;
  return sum;
}

Correlation correlate(const std::vector<CoherentLine>& lines, double longest) {
  Correlation result{1.0 / (kStepsPerPeriod * lines.back().frequency), 0, {}};
  result.reach = static_cast<std::ptrdiff_t>(std::ceil(longest / result.step));
  result.value.assign(static_cast<std::size_t>(2 * result.reach + 1), 0.0);
  for (const CoherentLine& line : lines) {
    const double turn = 2.0 * std::numbers::pi * line.frequency * result.step;
    std::complex<double> phasor =
        line.direction * std::polar(1.0, -turn * static_cast<double>(result.reach));
    const std::complex<double> advance = std::polar(1.0, turn);
    for (double& value : result.value) {
      value += phasor.real();
      phasor *= advance;
    }
  }
  const double whole = total_weight(lines);
  for (double& value : result.value) value /= whole;
  return result;
}

std::optional<std::size_t> highest_within(const Correlation& r, double longest) {
  std::optional<std::size_t> best;
  for (std::size_t i = 1; i + 1 < r.value.size(); ++i)
    if (std::abs(r.delay(i)) <= longest && (!best || r.value[i] > r.value[*best])) best = i;
  const bool peak =
      best && r.value[*best] >= r.value[*best - 1] && r.value[*best] >= r.value[*best + 1];
  return peak ? best : std::nullopt;
}

/// The highest value outside the lobe of a peak.
double highest_rival(const Correlation& r, std::size_t peak) {
  std::size_t left = peak;
  while (left > 0 && r.value[left - 1] <= r.value[left]) --left;
  std::size_t right = peak;
  while (right + 1 < r.value.size() && r.value[right + 1] <= r.value[right]) ++right;
  double rival = -1.0;
  for (std::size_t i = 0; i < left; ++i) rival = std::max(rival, r.value[i]);
  for (std::size_t i = right + 1; i < r.value.size(); ++i) rival = std::max(rival, r.value[i]);
  return rival;
}

/// Standard error of a value of the correlation, from the errors of the lines' phases.
double value_error(const std::vector<CoherentLine>& lines, double averages) {
  double sum = 0.0;
  for (const CoherentLine& line : lines) {
    const double error = line.weight * response_error(line.coherence, averages);
    sum += error * error;
  }
  return std::sqrt(sum) / total_weight(lines);
}

/// Place of the peak between the steps, by the parabola through its three highest values.
double refined(const Correlation& r, std::size_t peak) {
  const double before = r.value[peak - 1];
  const double after = r.value[peak + 1];
  const double bend = before - 2.0 * r.value[peak] + after;
  const double shift = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
  return r.delay(peak) + shift * r.step;
}

double mean_frequency(const std::vector<CoherentLine>& lines) {
  double sum = 0.0;
  for (const CoherentLine& line : lines) sum += line.weight * line.frequency;
  return sum / total_weight(lines);
}

Seconds deviation_of(const std::vector<CoherentLine>& lines, const CrossSpectrum& spectrum) {
  double coherent = 0.0;
  for (const CoherentLine& line : lines) coherent += line.coherence;
  const double correlation = std::sqrt(coherent / static_cast<double>(lines.size()));
  const double bandwidth = spectrum.spacing * static_cast<double>(lines.size());
  const Seconds record(spectrum.effective_averages / spectrum.spacing);
  return delay_deviation(correlation_error(correlation, bandwidth, record), bandwidth);
}

}  // namespace

DelayOutcome estimate_delay(const CrossSpectrum& spectrum, const DelayParameters& parameters) {
  const std::vector<CoherentLine> lines = coherent_lines(spectrum, parameters.weighting);
  if (lines.empty()) return NoDelay::not_coherent;
  const double longest = parameters.longest.value;
  const Correlation r = correlate(lines, std::max(longest, 1.5 / mean_frequency(lines)));
  const auto peak = highest_within(r, longest);
  if (!peak) return NoDelay::too_long;
  const double height = r.value[*peak];
  const double rival = highest_rival(r, *peak);
  const double error = value_error(lines, spectrum.effective_averages);
  if (rival > kRivalShare * height || height - rival < kRivalErrors * error)
    return NoDelay::not_unique;
  return FoundDelay{Seconds(refined(r, *peak)), deviation_of(lines, spectrum)};
}

double correlation_error(double correlation, double bandwidth_hz, Seconds record) {
  return std::sqrt(1.0 + 1.0 / (correlation * correlation)) /
         std::sqrt(2.0 * bandwidth_hz * record.value);
}

Seconds delay_deviation(double correlation_error, double bandwidth_hz) {
  return Seconds(std::pow(0.75, 0.25) * std::sqrt(correlation_error) /
                 (std::numbers::pi * bandwidth_hz));
}

}  // namespace howl
