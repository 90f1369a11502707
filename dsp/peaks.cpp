#include "dsp/peaks.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>

#include "dsp/noise_floor.h"
#include "dsp/tone_fit.h"
#include "dsp/window_lobe.h"

namespace howl {
namespace {

constexpr double half_power_db = 10.0 * std::numbers::ln2 / std::numbers::ln10;
constexpr Decibel least_min_height{3.0};
constexpr double db_per_neper_of_power = 10.0 / std::numbers::ln10;

/// Where the main lobe has fallen to `power` (relative to its centre).
double lobe_distance(WindowKind kind, double power) {
  double low = 0.0;
  auto high = static_cast<double>(lobe_half_width(kind));
  for (int i = 0; i < 40; ++i) {
    const double middle = (low + high) / 2.0;
    (lobe_power(kind, middle) > power ? low : high) = middle;
  }
  return (low + high) / 2.0;
}

double lobe_width(WindowKind kind) { return 2.0 * lobe_distance(kind, 0.5); }

/// Variance of the mean of neighbouring noise lines over what it were if they were independent.
double shared_noise(WindowKind kind) {
  double sum = 1.0;
  for (std::size_t i = 1; i < 2 * lobe_half_width(kind); ++i) {
    const double correlation = line_correlation(kind, i);
    sum += 2.0 * correlation * correlation;
  }
  return sum;
}

/// One search: what depends on the spectrum as a whole.
struct PeakSearch {
  const PowerSpectrum& spectrum;
  std::vector<double> floor;
  std::size_t lobe;       ///< half width of the main lobe in lines
  double saddle;          ///< a power ratio: how far a peak must stand over its saddles
  double line_deviation;  ///< of a noise line, in dB
  double pure_width;      ///< −3 dB width of the main lobe in lines
  double noise_sharing;
};

PeakSearch prepare(const PowerSpectrum& spectrum, const PeakParameters& parameters) {
  constexpr double greatest_saddle_db = 10.0;
  const double deviation = db_per_neper_of_power / std::sqrt(spectrum.effective_averages);
  const double saddle_db = std::min(greatest_saddle_db, 4.0 * std::numbers::sqrt2 * deviation);
  return {spectrum,
          noise_floor(spectrum, parameters.floor_width),
          lobe_half_width(spectrum.window),
          power_of(Decibel(saddle_db)),
          deviation,
          lobe_width(spectrum.window),
          shared_noise(spectrum.window)};
}

/// Whether the way from `peak` to any higher line leads over one that is lower by the factor
/// `deep`.
bool stands_over_saddle(std::span<const double> power, std::size_t peak, int step, double deep) {
  const auto count = static_cast<std::ptrdiff_t>(power.size());
  for (auto k = static_cast<std::ptrdiff_t>(peak) + step; k >= 0 && k < count; k += step) {
    const double level = power[static_cast<std::size_t>(k)];
    if (level * deep <= power[peak]) return true;
    if (level > power[peak]) return false;
  }
  return true;
}

bool is_candidate(const PeakSearch& search, std::size_t k, double min_ratio) {
  const auto& power = search.spectrum.power;
  return power[k] > power[k - 1] && power[k] >= power[k + 1] &&
         power[k] >= min_ratio * search.floor[k] &&
         stands_over_saddle(power, k, -1, search.saddle) &&
         stands_over_saddle(power, k, +1, search.saddle);
}

std::vector<std::size_t> candidates(const PeakSearch& search, const PeakParameters& parameters) {
  const auto& spectrum = search.spectrum;
  const double min_ratio = power_of(std::max(parameters.min_height, least_min_height));
  std::vector<std::size_t> found;
  for (std::size_t k = search.lobe; k + search.lobe < spectrum.power.size(); ++k) {
    const bool near = spectrum.position(k + 1) >= parameters.lowest &&
                      spectrum.position(k - 1) <= parameters.highest;
    if (near && is_candidate(search, k, min_ratio)) found.push_back(k);
  }
  return found;
}

/// How many times farther out than a pure tone's a flank reaches its first line below −3 dB.
double flank_stretch(const PeakSearch& search, std::size_t line, const ToneFit& tone, int step) {
  constexpr double deepest = 1e-4;
  const auto& power = search.spectrum.power;
  const double half = tone.power / 2.0;
  auto k = static_cast<std::ptrdiff_t>(line);
  const auto count = static_cast<std::ptrdiff_t>(power.size());
  const auto above_floor = [&] {
    return power[static_cast<std::size_t>(k)] - search.floor[static_cast<std::size_t>(k)];
  };
  while (k + step >= 0 && k + step < count &&
         (k == static_cast<std::ptrdiff_t>(line) || above_floor() > half)) {
    k += step;
  }
  const double distance =
      std::abs(static_cast<double>(k) - static_cast<double>(line) - tone.offset);
  const double fallen = std::clamp(above_floor() / tone.power, deepest, 0.999);
  return distance / lobe_distance(search.spectrum.window, fallen);
}

double stretch(const PeakSearch& search, std::size_t line, const ToneFit& tone) {
  return (flank_stretch(search, line, tone, -1) + flank_stretch(search, line, tone, +1)) / 2.0;
}

/// A tone's lobe that is stretched by more than this, and by more than noise explains, is no lobe.
bool is_broad(double stretch, const ToneFit& tone) {
  constexpr double least_stretch = 1.25;
  constexpr double least_misfit = 12.0;  // as rare as 1 in 400 for two degrees of freedom
  return stretch > least_stretch && tone.misfit > least_misfit;
}

Peak tone_peak(const PeakSearch& search, std::size_t line, const ToneFit& tone, double stretch) {
  const double spacing = search.spectrum.spacing;
  Peak peak;
  peak.position = search.spectrum.position(line) + tone.offset * spacing;
  peak.position_sigma = tone.offset_sigma * spacing;
  peak.power = tone.power;
  peak.floor_density = search.floor[line] / search.spectrum.noise_bandwidth();
  peak.above_floor = decibels_of_power(tone.power / search.floor[line]);
  peak.relative_width = stretch;
  peak.width_lines = stretch * search.pure_width;
  return peak;
}

template <class Belongs>
LineRange spread_from(std::size_t line, std::size_t count, Belongs belongs) {
  LineRange lines{line, line};
  while (lines.first > 0 && belongs(lines.first - 1)) --lines.first;
  while (lines.last + 1 < count && belongs(lines.last + 1)) ++lines.last;
  return lines;
}

/// Top of a hump: lines no farther below the highest than −3 dB and chance take them, always three.
LineRange top_of_hump(const PeakSearch& search, std::size_t line) {
  const auto& power = search.spectrum.power;
  const double chance = power_of(Decibel(std::min(10.0, 4.0 * search.line_deviation)));
  const double least = power[line] / (2.0 * chance);
  const LineRange top =
      spread_from(line, power.size(), [&](std::size_t k) { return power[k] >= least; });
  return {std::min(top.first, line - 1), std::max(top.last, line + 1)};
}

/// Last line of a hump on one side: where it sinks to twice the floor, or, before that, the lowest
/// on the way to something that surely rises again.
std::size_t hump_end(const PeakSearch& search, std::size_t line, std::ptrdiff_t step) {
  const auto& power = search.spectrum.power;
  const auto count = static_cast<std::ptrdiff_t>(power.size());
  std::size_t lowest = line;
  for (auto i = static_cast<std::ptrdiff_t>(line) + step; i >= 0 && i < count; i += step) {
    const auto k = static_cast<std::size_t>(i);
    if (power[k] > search.saddle * power[lowest]) break;
    if (power[k] < power[lowest]) lowest = k;
    if (power[k] <= 2.0 * search.floor[k]) break;
  }
  return lowest;
}

double hump_power(const PeakSearch& search, std::size_t line) {
  const std::size_t last = hump_end(search, line, +1);
  double sum = 0.0;
  for (std::size_t k = hump_end(search, line, -1); k <= last; ++k) {
    sum += search.spectrum.power[k] - search.floor[k];
  }
  return sum / search.spectrum.noise_bandwidth_bins;
}

/// y = top − curvature·(x − vertex)², least squares.
struct Parabola {
  double vertex;
  double top;
  double curvature;
  double vertex_per_deviation;  ///< standard deviation of `vertex` for independent y of deviation 1
};

/// Fit through levels in dB at x = 0, 1, 2 …, in Legendre-like terms of the centred abscissa, which
/// are orthogonal. None where they do not bend downwards.
std::optional<Parabola> fit_parabola(std::span<const double> levels) {
  const auto n = static_cast<double>(levels.size());
  const double centre = (n - 1.0) / 2.0;
  const double mean_square = (n * n - 1.0) / 12.0;
  double mean = 0.0;
  double slope = 0.0;
  double bend = 0.0;
  double slope_norm = 0.0;
  double bend_norm = 0.0;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    const double x = static_cast<double>(i) - centre;
    const double q = x * x - mean_square;
    mean += levels[i] / n;
    slope += levels[i] * x;
    bend += levels[i] * q;
    slope_norm += x * x;
    bend_norm += q * q;
  }
  slope /= slope_norm;
  bend /= bend_norm;
  if (!(bend < 0.0)) return std::nullopt;
  const double vertex = -slope / (2.0 * bend);
  if (std::abs(vertex) > centre) return std::nullopt;
  const double by_slope = 1.0 / (slope_norm * 4.0 * bend * bend);
  const double by_bend = vertex * vertex / (bend_norm * bend * bend);
  return Parabola{vertex + centre, mean - bend * mean_square - bend * vertex * vertex, -bend,
                  std::sqrt(by_slope + by_bend)};
}

std::optional<Parabola> parabola_over(const PeakSearch& search, LineRange lines) {
  std::vector<double> levels;
  for (std::size_t k = lines.first; k <= lines.last; ++k) {
    levels.push_back(decibels_of_power(std::max(search.spectrum.power[k], search.floor[k])).value);
  }
  return fit_parabola(levels);
}

/// A parabola over the lines where it stands less than 3 dB below its vertex.
struct HumpFit {
  LineRange lines;
  Parabola parabola;

  double vertex() const { return static_cast<double>(lines.first) + parabola.vertex; }
  double half_width() const { return std::sqrt(half_power_db / parabola.curvature); }
};

std::optional<HumpFit> fit_over(const PeakSearch& search, LineRange lines) {
  const auto parabola = parabola_over(search, lines);
  if (!parabola) return std::nullopt;
  return HumpFit{lines, *parabola};
}

LineRange lines_about(const PeakSearch& search, double vertex, double half_width) {
  const double reach = std::max(1.0, half_width);
  const auto last = static_cast<double>(search.spectrum.power.size() - 1);
  return {static_cast<std::size_t>(std::max(0.0, std::round(vertex - reach))),
          static_cast<std::size_t>(std::min(last, std::round(vertex + reach)))};
}

std::optional<HumpFit> fit_hump(const PeakSearch& search, std::size_t line) {
  auto fit = fit_over(search, top_of_hump(search, line));
  for (int i = 0; fit && i < 3; ++i) {
    const auto closer = fit_over(search, lines_about(search, fit->vertex(), fit->half_width()));
    if (!closer) break;
    fit = closer;
  }
  return fit;
}

/// None where the hump has no top that a parabola can name.
std::optional<Peak> broad_peak(const PeakSearch& search, std::size_t line) {
  const PowerSpectrum& spectrum = search.spectrum;
  const auto fit = fit_hump(search, line);
  if (!fit) return std::nullopt;
  const double floor = search.floor[line];
  const double deviation = search.line_deviation * std::sqrt(search.noise_sharing);
  const double over_floor = power_of(Decibel(fit->parabola.top)) - floor;
  Peak peak;
  peak.broad = true;
  peak.position = fit->vertex() * spectrum.spacing;
  peak.position_sigma = fit->parabola.vertex_per_deviation * deviation * spectrum.spacing;
  peak.power = hump_power(search, line);
  peak.floor_density = floor / spectrum.noise_bandwidth();
  peak.above_floor = decibels_of_power(std::max(over_floor, floor) / floor);
  peak.width_lines = 2.0 * fit->half_width();
  peak.relative_width = peak.width_lines / search.pure_width;
  return peak;
}

Peak measure(const PeakSearch& search, std::size_t line) {
  const ToneFit tone = fit_tone(search.spectrum, line, search.floor[line]);
  const double wider = stretch(search, line, tone);
  if (is_broad(wider, tone)) {
    if (const auto peak = broad_peak(search, line)) return *peak;
  }
  return tone_peak(search, line, tone, wider);
}

/// Strongest first, so that of two that are too close the weaker goes.
std::vector<Peak> separated(std::vector<Peak> peaks, double min_separation) {
  std::ranges::stable_sort(peaks, std::ranges::greater{}, &Peak::power);
  std::vector<Peak> kept;
  for (const Peak& peak : peaks) {
    const bool close = std::ranges::any_of(kept, [&](const Peak& other) {
      return std::abs(other.position - peak.position) < min_separation;
    });
    if (!close) kept.push_back(peak);
  }
  return kept;
}

}  // namespace

std::vector<Peak> find_peaks(const PowerSpectrum& spectrum, const PeakParameters& parameters) {
  if (spectrum.power.size() < 3 || !(spectrum.effective_averages > 0.0)) return {};
  const PeakSearch search = prepare(spectrum, parameters);
  std::vector<Peak> peaks;
  for (const std::size_t line : candidates(search, parameters)) {
    const Peak peak = measure(search, line);
    const bool wanted = parameters.lowest <= peak.position && peak.position <= parameters.highest;
    if (wanted) peaks.push_back(peak);
  }
  if (parameters.min_separation > 0.0) {
    peaks = separated(std::move(peaks), parameters.min_separation);
  }
  std::ranges::sort(peaks, {}, &Peak::position);
  return peaks;
}

double least_position_sigma(const PowerSpectrum& spectrum, double power, double density) {
  const double noise_to_tone = density * spectrum.spacing / power;
  const double lines = std::sqrt(1.5 * noise_to_tone / spectrum.effective_averages);
  return lines / std::numbers::pi * spectrum.spacing;
}

std::optional<std::size_t> peak_line_near(const PowerSpectrum& spectrum, double position) {
  const auto& power = spectrum.power;
  const double line = std::round(position / spectrum.spacing);
  if (line < 3.0 || line + 4.0 > static_cast<double>(power.size())) return std::nullopt;
  const auto from = power.begin() + static_cast<std::ptrdiff_t>(line) - 1;
  const auto peak = static_cast<std::size_t>(std::max_element(from, from + 3) - power.begin());
  if (power[peak] < power[peak - 1] || power[peak] < power[peak + 1]) return std::nullopt;
  return peak;
}

}  // namespace howl
