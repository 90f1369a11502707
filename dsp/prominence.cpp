#include "dsp/prominence.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "dsp/peaks.h"
#include "dsp/window_lobe.h"

namespace howl {
namespace {

constexpr Hertz lowest_rated{89.1};
constexpr Hertz highest_rated{11200.0};
constexpr Hertz level_limit_from{1000.0};
constexpr double tone_share_of_band = 0.15;

bool in_range(Hertz tone) { return lowest_rated <= tone && tone <= highest_rated; }

struct Quadratic {
  double c0, c1, c2;
  Hertz at(Hertz f) const { return Hertz(c0 + f.value * (c1 + f.value * c2)); }
};

Quadratic lower_edge_fit(Hertz tone) {
  if (tone <= Hertz(171.4)) return {20.0, 0.0, 0.0};
  if (tone <= Hertz(1600.0)) return {-149.5, 1.001, -6.90e-5};
  return {6.8, 0.806, -8.20e-6};
}

Quadratic upper_edge_fit(Hertz tone) {
  if (tone <= Hertz(1600.0)) return {149.5, 1.035, 7.70e-5};
  return {3.3, 1.215, 2.16e-5};
}

struct Tone {
  std::size_t peak;
  LineRange lines;
  double power;    ///< in the same measure as a sum of lines
  double in_band;  ///< the part of it within the critical band under test
};

double main_lobe_width(const PowerSpectrum& spectrum) {
  return 2.0 * static_cast<double>(lobe_half_width(spectrum.window)) * spectrum.spacing;
}

bool within_spectrum(const PowerSpectrum& spectrum, FrequencyBand band) {
  return spectrum.power.size() > 2 && band.low.value >= spectrum.spacing &&
         band.high.value <= spectrum.position(spectrum.power.size() - 1);
}

LineRange lines_of(const PowerSpectrum& spectrum, FrequencyBand band) {
  return {static_cast<std::size_t>(std::ceil(band.low.value / spectrum.spacing)),
          static_cast<std::size_t>(std::floor(band.high.value / spectrum.spacing))};
}

/// How much lower a line must be than another to be so by more than chance.
double surely_lower(const PowerSpectrum& spectrum) {
  constexpr double least_db = 3.0;
  constexpr double greatest_db = 10.0;
  const double line_deviation_db =
      10.0 / (std::numbers::ln10 * std::sqrt(spectrum.effective_averages));
  const double chance_db = 4.0 * std::numbers::sqrt2 * line_deviation_db;
  return power_of(-Decibel(std::clamp(chance_db, least_db, greatest_db)));
}

/// Lowest of the `count` lines after `line` in direction `step`, as far as there are any; else
/// `line`.
std::size_t lowest_beyond(std::span<const double> power, std::size_t line, std::size_t count,
                          std::ptrdiff_t step) {
  std::size_t lowest = line;
  for (std::size_t i = 1; i <= count; ++i) {
    const auto k = static_cast<std::ptrdiff_t>(line) + step * static_cast<std::ptrdiff_t>(i);
    if (k < 0 || k >= static_cast<std::ptrdiff_t>(power.size())) break;
    const auto candidate = static_cast<std::size_t>(k);
    if (lowest == line || power[candidate] < power[lowest]) lowest = candidate;
  }
  return lowest;
}

/// Where the tone band ends on one side: the lowest line within half of 15 % of the critical band,
/// and on while the level surely still falls (clause 11.2: on to the next minimum), within half of
/// the critical band.
std::size_t tone_band_end(const PowerSpectrum& spectrum, std::size_t peak, std::ptrdiff_t step) {
  const double width = critical_bandwidth(Hertz(spectrum.position(peak))).value / spectrum.spacing;
  const auto reach =
      std::max<std::size_t>(1, static_cast<std::size_t>(0.5 * tone_share_of_band * width));
  const double lower = surely_lower(spectrum);
  const auto distance = [&](std::size_t line) { return line > peak ? line - peak : peak - line; };
  std::size_t end = lowest_beyond(spectrum.power, peak, reach, step);
  while (static_cast<double>(distance(end) + reach) < 0.5 * width) {
    const std::size_t next = lowest_beyond(spectrum.power, end, reach, step);
    if (!(spectrum.power[next] < lower * spectrum.power[end])) break;
    end = next;
  }
  return end;
}

LineRange tone_band(const PowerSpectrum& spectrum, std::size_t peak) {
  return {tone_band_end(spectrum, peak, -1), tone_band_end(spectrum, peak, +1)};
}

/// Power over the straight line between the edges of the tone band (Formula 9).
double power_over_edges(std::span<const double> power, LineRange tone, LineRange part) {
  const double edge = (power[tone.first] + power[tone.last]) / 2.0;
  double sum = 0.0;
  for (std::size_t k = part.first; k <= part.last; ++k) sum += power[k] - edge;
  return sum;
}

LineRange common(LineRange a, LineRange b) {
  return {std::max(a.first, b.first), std::min(a.last, b.last)};
}

/// What is left of a tone band beside bands that louder tones have taken; none where its peak is
/// taken.
std::optional<LineRange> unclaimed(LineRange lines, std::size_t peak,
                                   std::span<const Tone> louder) {
  for (const Tone& tone : louder) {
    if (tone.lines.contains(peak)) return std::nullopt;
    if (tone.lines.last < peak) lines.first = std::max(lines.first, tone.lines.last);
    if (tone.lines.first > peak) lines.last = std::min(lines.last, tone.lines.first);
  }
  return lines;
}

std::vector<std::size_t> peaks_in_band(const PowerSpectrum& spectrum, std::size_t rated,
                                       LineRange band, std::span<const Hertz> others) {
  std::vector<std::size_t> peaks{rated};
  for (const Hertz other : others) {
    const auto peak = peak_line_near(spectrum, other.value);
    if (peak && band.contains(*peak)) peaks.push_back(*peak);
  }
  std::ranges::sort(peaks);
  peaks.erase(std::unique(peaks.begin(), peaks.end()), peaks.end());
  std::ranges::sort(
      peaks, [&](std::size_t a, std::size_t b) { return spectrum.power[a] > spectrum.power[b]; });
  return peaks;
}

/// Tones of the band, loudest line first, none counted twice.
std::vector<Tone> tones_in_band(const PowerSpectrum& spectrum, LineRange band,
                                std::span<const std::size_t> peaks) {
  std::vector<Tone> tones;
  for (const std::size_t peak : peaks) {
    const auto lines = unclaimed(tone_band(spectrum, peak), peak, tones);
    if (!lines) continue;
    const double power = power_over_edges(spectrum.power, *lines, *lines);
    const double in_band = power_over_edges(spectrum.power, *lines, common(*lines, band));
    if (power > 0.0) tones.push_back({peak, *lines, power, std::max(in_band, 0.0)});
  }
  return tones;
}

double rated_power(const PowerSpectrum& spectrum, const Tone& rated, std::span<const Tone> tones) {
  const Hertz frequency{spectrum.position(rated.peak)};
  double power = rated.power;
  for (const Tone& other : tones) {
    const bool counts =
        other.peak != rated.peak && heard_as_one(frequency, Hertz(spectrum.position(other.peak)));
    if (counts) power += other.power;
  }
  return power;
}

/// Formula 10: what the tones leave of the band, scaled to the whole critical bandwidth.
double noise_power(const PowerSpectrum& spectrum, LineRange band, Hertz width,
                   std::span<const Tone> tones) {
  double power = 0.0;
  for (std::size_t k = band.first; k <= band.last; ++k) power += spectrum.power[k];
  for (const Tone& tone : tones) power -= tone.in_band;
  return power * width.value / (static_cast<double>(band.count()) * spectrum.spacing);
}

ProminenceStatus vouched(Hertz tone, bool fine_enough) {
  if (!in_range(tone)) return ProminenceStatus::outside_range;
  return fine_enough ? ProminenceStatus::standard : ProminenceStatus::too_coarse;
}

void set_ratio(Prominence& result, Decibel ratio, ProminenceStatus status) {
  result.status = status;
  if (status != ProminenceStatus::standard) {
    result.indicative_ratio = ratio;
    return;
  }
  result.ratio = ratio;
  result.prominent = ratio >= result.limit;
}

}  // namespace

Decibel tone_to_noise_limit(Hertz tone) {
  const double decades_below = std::max(0.0, std::log10(level_limit_from / tone));
  return Decibel(8.0 + 8.33 * decades_below);
}

Decibel prominence_ratio_limit(Hertz tone) {
  const double decades_below = std::max(0.0, std::log10(level_limit_from / tone));
  return Decibel(9.0 + 10.0 * decades_below);
}

ProminenceBands prominence_bands(Hertz tone) {
  const FrequencyBand middle = critical_band(tone);
  return {{lower_edge_fit(tone).at(tone), middle.low},
          middle,
          {middle.high, upper_edge_fit(tone).at(tone)}};
}

std::string_view prominence_status_name(ProminenceStatus status) {
  switch (status) {
    case ProminenceStatus::standard:
      return "standard";
    case ProminenceStatus::outside_range:
      return "outside range";
    case ProminenceStatus::too_coarse:
      return "too coarse";
    case ProminenceStatus::beyond_spectrum:
      return "beyond spectrum";
    case ProminenceStatus::no_tone:
      return "no tone";
    case ProminenceStatus::no_noise:
      return "no noise";
  }
  return "";
}

ToneToNoise tone_to_noise(const PowerSpectrum& spectrum, Hertz tone,
                          std::span<const Hertz> other_tones) {
  ToneToNoise result;
  result.limit = tone_to_noise_limit(tone);
  const FrequencyBand critical = critical_band(tone);
  if (!within_spectrum(spectrum, critical)) {
    result.status = ProminenceStatus::beyond_spectrum;
    return result;
  }
  const LineRange band = lines_of(spectrum, critical);
  const auto peak = peak_line_near(spectrum, tone.value);
  if (!peak || !band.contains(*peak)) return result;

  const auto tones =
      tones_in_band(spectrum, band, peaks_in_band(spectrum, *peak, band, other_tones));
  const auto rated = std::ranges::find(tones, *peak, &Tone::peak);
  if (rated == tones.end()) return result;

  const double noise = noise_power(spectrum, band, critical.width(), tones);
  if (!(noise > 0.0)) {
    result.status = ProminenceStatus::no_noise;
    return result;
  }
  result.loudest_in_band =
      std::ranges::all_of(tones, [&](const Tone& t) { return t.power <= rated->power; });
  const double power = result.loudest_in_band ? rated_power(spectrum, *rated, tones) : rated->power;
  const bool fine = main_lobe_width(spectrum) <= tone_share_of_band * critical.width().value;
  set_ratio(result, decibels_of_power(power / noise), vouched(tone, fine));
  return result;
}

Prominence prominence_ratio(const PowerSpectrum& spectrum, Hertz tone) {
  Prominence result;
  result.limit = prominence_ratio_limit(tone);
  const ProminenceBands bands = prominence_bands(tone);
  const bool has_bands = bands.lower.width() > Hertz(0.0) && bands.upper.width() > Hertz(0.0);
  if (!has_bands || !within_spectrum(spectrum, {bands.lower.low, bands.upper.high})) {
    result.status = ProminenceStatus::beyond_spectrum;
    return result;
  }
  const auto power_in = [&](FrequencyBand band) {
    return band_power(spectrum, band.low.value, band.high.value);
  };
  // Formula 24: a lower band that is cut at 20 Hz counts as if it were 100 Hz wide.
  const bool cut = tone <= Hertz(171.4);
  const double lower = power_in(bands.lower) * (cut ? Hertz(100.0) / bands.lower.width() : 1.0);
  const double middle = power_in(bands.middle);
  const double sides = (lower + power_in(bands.upper)) / 2.0;
  if (!(sides > 0.0) || !(middle > 0.0)) {
    result.status = ProminenceStatus::no_noise;
    return result;
  }
  const Hertz narrowest =
      std::min({bands.lower.width(), bands.middle.width(), bands.upper.width()});
  const bool fine = main_lobe_width(spectrum) <= narrowest.value;
  set_ratio(result, decibels_of_power(middle / sides), vouched(tone, fine));
  return result;
}

}  // namespace howl
