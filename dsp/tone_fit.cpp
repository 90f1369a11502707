#include "dsp/tone_fit.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "dsp/window_lobe.h"

namespace howl {
namespace {

/// A line used in the fit: `distance` lines from the local maximum.
struct Sample {
  double distance;
  double power;
};

struct Parameters {
  double power;
  double offset;
};

/// d/d(bins) of the lobe's power.
double lobe_slope(WindowKind kind, double bins) {
  constexpr double step = 1e-4;
  return (lobe_power(kind, bins + step) - lobe_power(kind, bins - step)) / (2.0 * step);
}

/// Lines that lie inside the main lobe wherever in its cell the tone is; never fewer than three.
std::vector<Sample> samples_about(const PowerSpectrum& spectrum, std::size_t line) {
  const auto reach =
      static_cast<std::ptrdiff_t>(std::max<std::size_t>(2, lobe_half_width(spectrum.window))) - 1;
  std::vector<Sample> samples;
  for (std::ptrdiff_t i = -reach; i <= reach; ++i) {
    const auto k = static_cast<std::size_t>(static_cast<std::ptrdiff_t>(line) + i);
    samples.push_back({static_cast<double>(i), spectrum.power[k]});
  }
  return samples;
}

/// Offset for which the lobe has the ratio of the higher neighbour to the maximum (Grandke 1983).
double offset_of_ratio(WindowKind kind, double ratio) {
  double low = 0.0;
  double high = 0.5;
  for (int i = 0; i < 30; ++i) {
    const double middle = (low + high) / 2.0;
    const bool too_low = lobe_power(kind, 1.0 - middle) < ratio * lobe_power(kind, middle);
    (too_low ? low : high) = middle;
  }
  return (low + high) / 2.0;
}

Parameters first_guess(const PowerSpectrum& spectrum, std::size_t line, double floor) {
  const double top = spectrum.power[line] - floor;
  const double left = std::max(0.0, spectrum.power[line - 1] - floor);
  const double right = std::max(0.0, spectrum.power[line + 1] - floor);
  const double offset = offset_of_ratio(spectrum.window, std::max(left, right) / top);
  return {top / lobe_power(spectrum.window, offset), right >= left ? offset : -offset};
}

/// Weighted normal equations of one step, for power and offset.
struct Normal {
  double a00{};
  double a01{};
  double a11{};
  double b0{};
  double b1{};

  double determinant() const { return a00 * a11 - a01 * a01; }
};

struct Row {
  double d_power;   // derivative of the model by the tone's power
  double d_offset;  // … by its offset
  double lobe;      // amplitude
  double weight;
  double residual;
};

class Fit {
 public:
  Fit(const PowerSpectrum& spectrum, std::size_t line, double floor)
      : kind_(spectrum.window),
        floor_(floor),
        averages_(spectrum.effective_averages),
        samples_(samples_about(spectrum, line)),
        tone_(first_guess(spectrum, line, floor)) {}

  ToneFit run() {
    for (int i = 0; i < 12; ++i) step();
    return {tone_.offset, offset_sigma(), tone_.power, misfit()};
  }

 private:
  /// Variance of a line from noise, plus 1 % of the tone: what the lobe of a real tone is off by.
  /// It keeps weak lines of a strong tone from ruling the fit.
  double variance(double lobe) const {
    constexpr double model_error = 0.01;
    const double noise = (2.0 * tone_.power * lobe * lobe + floor_) * floor_ / averages_;
    const double model = model_error * tone_.power;
    return noise + model * model;
  }

  std::vector<Row> rows() const {
    std::vector<Row> rows;
    rows.reserve(samples_.size());
    for (const Sample& sample : samples_) {
      const double bins = sample.distance - tone_.offset;
      const double lobe = main_lobe(kind_, bins);
      const double model = tone_.power * lobe * lobe + floor_;
      rows.push_back({lobe * lobe, -tone_.power * lobe_slope(kind_, bins), lobe,
                      1.0 / variance(lobe), sample.power - model});
    }
    return rows;
  }

  static Normal normal(const std::vector<Row>& rows) {
    Normal n;
    for (const Row& row : rows) {
      n.a00 += row.weight * row.d_power * row.d_power;
      n.a01 += row.weight * row.d_power * row.d_offset;
      n.a11 += row.weight * row.d_offset * row.d_offset;
      n.b0 += row.weight * row.d_power * row.residual;
      n.b1 += row.weight * row.d_offset * row.residual;
    }
    return n;
  }

  void step() {
    constexpr double farthest =
        0.75;  // noise can make the neighbour of the nearest line the highest
    const Normal n = normal(rows());
    const double determinant = n.determinant();
    if (!(determinant > 0.0)) return;
    const double power = tone_.power + (n.a11 * n.b0 - n.a01 * n.b1) / determinant;
    const double offset = tone_.offset + (n.a00 * n.b1 - n.a01 * n.b0) / determinant;
    tone_.power = std::clamp(power, tone_.power / 2.0, tone_.power * 2.0);
    tone_.offset = std::clamp(offset, -farthest, farthest);
  }

  /// Covariance of two lines from noise; see find_peaks().
  double covariance(std::size_t i, std::size_t j, const std::vector<Row>& rows) const {
    const std::size_t apart = i > j ? i - j : j - i;
    const double correlation = line_correlation(kind_, apart);
    const double shared = floor_ * correlation;
    return (2.0 * tone_.power * rows[i].lobe * rows[j].lobe + shared) * shared / averages_;
  }

  /// Error propagation through the weights of the fit, which ignore the correlation.
  double offset_sigma() const {
    const auto all = rows();
    const Normal n = normal(all);
    std::vector<double> influence;
    influence.reserve(all.size());
    for (const Row& row : all) {
      influence.push_back(row.weight * (n.a00 * row.d_offset - n.a01 * row.d_power) /
                          n.determinant());
    }
    double variance = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      for (std::size_t j = 0; j < all.size(); ++j) {
        variance += influence[i] * influence[j] * covariance(i, j, all);
      }
    }
    return std::sqrt(std::max(variance, 0.0));
  }

  double misfit() const {
    double sum = 0.0;
    for (const Row& row : rows()) sum += row.weight * row.residual * row.residual;
    return sum;
  }

  WindowKind kind_;
  double floor_;
  double averages_;
  std::vector<Sample> samples_;
  Parameters tone_;
};

}  // namespace

ToneFit fit_tone(const PowerSpectrum& spectrum, std::size_t line, double floor) {
  return Fit(spectrum, line, floor).run();
}

}  // namespace howl
