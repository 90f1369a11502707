#include "dsp/audibility.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "dsp/level.h"
#include "dsp/peaks.h"

namespace howl {
namespace {

const double above_noise = power_of(Decibel(6.0));   // a tone's line over the mean line
const double below_peak = power_of(Decibel(-10.0));  // a tone's line under its highest

/// Lines of the critical band about a peak, both ends included.
struct BandLines {
  std::size_t first;
  std::size_t peak;
  std::size_t last;
};

std::optional<BandLines> band_lines(const PowerSpectrum& spectrum, std::size_t peak) {
  const FrequencyBand band = geometric_critical_band(Hertz(spectrum.position(peak)));
  const double last = std::floor(band.high.value / spectrum.spacing);
  if (last + 1.0 > static_cast<double>(spectrum.power.size())) return std::nullopt;
  return BandLines{static_cast<std::size_t>(std::ceil(band.low.value / spectrum.spacing)), peak,
                   static_cast<std::size_t>(last)};
}

struct NoiseLines {
  std::size_t below{};
  std::size_t above{};
  double sum{};

  std::size_t count() const { return below + above; }
  double mean() const { return sum / static_cast<double>(count()); }
  bool enough() const { return std::min(below, above) >= 5; }
};

NoiseLines noise_lines(std::span<const double> power, BandLines band, double at_most) {
  NoiseLines lines;
  for (std::size_t k = band.first; k <= band.last; ++k) {
    if (k == band.peak || power[k] > at_most) continue;
    ++(k < band.peak ? lines.below : lines.above);
    lines.sum += power[k];
  }
  return lines;
}

/// Mean power of a noise line, window included (Formula 6, Annex D): lines more than 6 dB above the
/// mean so far, corrected for the window, are left out until the mean settles or fewer than five
/// are left on a side.
std::optional<double> mean_noise_line(const PowerSpectrum& spectrum, BandLines band) {
  const double settled = power_of(Decibel(0.005));
  const double window = spectrum.noise_bandwidth_bins;
  NoiseLines lines = noise_lines(spectrum.power, band, spectrum.power[band.peak]);
  if (!lines.enough() || !(lines.sum > 0.0)) return std::nullopt;
  while (true) {
    const double mean = lines.mean() / window;
    const NoiseLines fewer = noise_lines(spectrum.power, band, mean * above_noise);
    if (!fewer.enough() || fewer.count() == lines.count()) return mean;
    lines = fewer;
    if (mean <= lines.mean() / window * settled) return lines.mean() / window;
  }
}

struct ToneLines {
  std::size_t first;
  std::size_t last;
};

ToneLines tone_lines(std::span<const double> power, std::size_t peak, double noise_line) {
  const double least = std::max(noise_line * above_noise, power[peak] * below_peak);
  ToneLines lines{peak, peak};
  while (lines.first > 0 && power[lines.first - 1] > least) --lines.first;
  while (lines.last + 1 < power.size() && power[lines.last + 1] > least) ++lines.last;
  return lines;
}

/// Formulae 7 and 8: a tone on one line has that line's level; several are corrected for the
/// window.
double tone_power(const PowerSpectrum& spectrum, std::span<const std::size_t> lines) {
  double sum = 0.0;
  for (const std::size_t k : lines) sum += spectrum.power[k];
  return lines.size() == 1 ? sum : sum / spectrum.noise_bandwidth_bins;
}

std::vector<std::size_t> lines_of(std::span<const AudibleTone> tones) {
  std::vector<std::size_t> lines;
  for (const AudibleTone& tone : tones) {
    for (std::size_t k = tone.first_line; k <= tone.last_line; ++k) lines.push_back(k);
  }
  std::ranges::sort(lines);
  lines.erase(std::unique(lines.begin(), lines.end()), lines.end());
  return lines;
}

/// Steepness in dB an octave between the peak and the first line beside the tone.
bool steep(const PowerSpectrum& spectrum, std::size_t peak, std::size_t beside) {
  constexpr double least = 24.0;
  const double beside_power = spectrum.power[beside];
  if (!(beside_power > 0.0)) return true;
  const double fall = decibels_of_power(spectrum.power[peak] / beside_power).value;
  const double distance = std::abs(spectrum.position(peak) - spectrum.position(beside));
  return fall * spectrum.position(peak) / (std::numbers::sqrt2 * distance) >= least;
}

bool is_distinct(const PowerSpectrum& spectrum, std::size_t peak, ToneLines lines) {
  const double width = static_cast<double>(lines.last - lines.first + 1) * spectrum.spacing;
  const double widest = 26.0 * (1.0 + 0.001 * spectrum.position(peak));
  return width <= widest && (lines.first == 0 || steep(spectrum, peak, lines.first - 1)) &&
         (lines.last + 1 == spectrum.power.size() || steep(spectrum, peak, lines.last + 1));
}

bool more_audible(const AudibleTone& a, const AudibleTone& b) {
  return a.audibility > b.audibility;
}

/// Tones of the critical band of the first, which must be the most audible among them; else none.
std::vector<AudibleTone> heard_with(const AudibleTone& first, std::span<const AudibleTone> tones) {
  const FrequencyBand band = geometric_critical_band(first.frequency);
  std::vector<AudibleTone> together;
  for (const AudibleTone& tone : tones) {
    if (!band.contains(tone.frequency)) continue;
    if (more_audible(tone, first)) return {};
    together.push_back(tone);
  }
  return together;
}

/// Exactly two tones below 1 kHz may be far enough apart to be rated one by one (Formulae 18, 19).
bool rated_apart(std::span<const AudibleTone> together, const AudibleTone& most_audible) {
  constexpr Hertz below{1000.0};
  if (together.size() != 2) return false;
  const AudibleTone& other = together[together[0].frequency == most_audible.frequency ? 1 : 0];
  return most_audible.frequency < below && other.frequency < below &&
         !heard_as_one(most_audible.frequency, other.frequency);
}

}  // namespace

Decibel masking_index(Hertz tone) {
  return Decibel(-2.0 - std::log10(1.0 + std::pow(tone.value / 502.0, 2.5)));
}

Decibel audibility(Decibel tone_level, Decibel mean_line_level, Hertz tone, Hertz spacing) {
  const Decibel noise_level =
      mean_line_level + decibels_of_power(critical_bandwidth(tone) / spacing);
  return tone_level - noise_level - masking_index(tone);
}

std::optional<AudibleTone> rate_audibility(const PowerSpectrum& spectrum, Hertz tone) {
  const auto peak = peak_line_near(spectrum, tone.value);
  if (!peak) return std::nullopt;
  const auto band = band_lines(spectrum, *peak);
  if (!band) return std::nullopt;
  const auto noise_line = mean_noise_line(spectrum, *band);
  if (!noise_line || spectrum.power[*peak] <= *noise_line * above_noise) return std::nullopt;

  const ToneLines lines = tone_lines(spectrum.power, *peak, *noise_line);
  AudibleTone rated{};
  rated.frequency = Hertz(spectrum.position(*peak));
  rated.mean_line_level = decibels_of_power(*noise_line);
  rated.first_line = lines.first;
  rated.last_line = lines.last;
  rated.distinct = is_distinct(spectrum, *peak, lines);
  rated.level = decibels_of_power(tone_power(spectrum, lines_of({&rated, 1})));
  rated.audibility =
      audibility(rated.level, rated.mean_line_level, rated.frequency, Hertz(spectrum.spacing));
  return rated;
}

Decibel combined_audibility(const PowerSpectrum& spectrum, std::span<const AudibleTone> together) {
  const AudibleTone& most_audible = *std::ranges::min_element(together, more_audible);
  const Decibel level = decibels_of_power(tone_power(spectrum, lines_of(together)));
  return audibility(level, most_audible.mean_line_level, most_audible.frequency,
                    Hertz(spectrum.spacing));
}

TonalAudibility tonal_audibility(const PowerSpectrum& spectrum, std::span<const Hertz> tones) {
  TonalAudibility result;
  for (const Hertz tone : tones) {
    const auto rated = rate_audibility(spectrum, tone);
    if (!rated || !rated->distinct || rated->audibility <= Decibel(0.0)) continue;
    if (std::ranges::find(result.tones, rated->frequency, &AudibleTone::frequency) ==
        result.tones.end()) {
      result.tones.push_back(*rated);
    }
  }
  std::ranges::sort(result.tones, more_audible);
  for (const AudibleTone& tone : result.tones) {
    const auto together = heard_with(tone, result.tones);
    const bool combine = together.size() > 1 && !rated_apart(together, tone);
    const Decibel value = combine ? combined_audibility(spectrum, together) : tone.audibility;
    if (!result.decisive || value > *result.decisive) result.decisive = value;
  }
  return result;
}

std::optional<Decibel> mean_audibility(std::span<const std::optional<Decibel>> decisive) {
  constexpr Decibel no_tone{-10.0};
  std::vector<Decibel> values;
  values.reserve(decisive.size());
  for (const auto& value : decisive) values.push_back(value.value_or(no_tone));
  return energy_mean(values);
}

Decibel tonal_adjustment(Decibel mean_audibility) {
  constexpr std::array rungs{0.0, 2.0, 4.0, 6.0, 9.0, 12.0};
  const auto rung = std::ranges::lower_bound(rungs, mean_audibility.value);
  return Decibel(static_cast<double>(rung - rungs.begin()));
}

}  // namespace howl
