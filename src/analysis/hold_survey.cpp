#include "src/analysis/hold_survey.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "dsp/critical_band.h"
#include "dsp/order_map.h"
#include "dsp/peaks.h"
#include "dsp/prominence.h"
#include "dsp/spectrum.h"
#include "src/analysis/like_takes.h"

namespace howl {

namespace {

constexpr double kLeastLineDb = 6.0;
constexpr std::size_t kParts = 3;
/// More than a tone that stands sways in level within a hold, or a resonance that noise lights up.
constexpr double kPassesDb = 10.0;

TimeSpans earlier(TimeSpans spans, double seconds) {
  for (Interval& span : spans) span = {span.low - seconds, span.high - seconds};
  return spans;
}

/// The spectra of a hold's parts, one after the other.
class PartSpectra {
 public:
  PartSpectra(const TakeAudio& take, const WelchParameters& parameters)
      : part_samples_(static_cast<std::size_t>(take.seconds * take.sample_rate) / kParts + 1) {
    const double part_seconds = static_cast<double>(part_samples_) / take.sample_rate;
    for (std::size_t i = 0; i < kParts; ++i)
      parts_.emplace_back(take.sample_rate, parameters,
                          earlier(take.left_out, static_cast<double>(i) * part_seconds));
  }
  void push(std::span<const float> chunk) {
    while (!chunk.empty()) {
      const std::size_t part = std::min(kParts - 1, samples_ / part_samples_);
      const std::size_t room =
          part + 1 == kParts ? chunk.size() : (part + 1) * part_samples_ - samples_;
      const std::size_t count = std::min(room, chunk.size());
      parts_[part].push(chunk.first(count));
      samples_ += count;
      chunk = chunk.subspan(count);
    }
  }
  std::vector<PowerSpectrum> results() const {
    std::vector<PowerSpectrum> spectra;
    for (const WelchSpectrum& part : parts_) spectra.push_back(part.result());
    return spectra;
  }

 private:
  std::vector<WelchSpectrum> parts_;
  std::size_t part_samples_;
  std::size_t samples_{};
};

/// Power about a frequency, in the lines that a tone there fills.
double line_power_at(const PowerSpectrum& spectrum, double hertz) {
  const auto middle = static_cast<std::size_t>(std::lround(hertz / spectrum.spacing));
  double power = 0.0;
  for (std::size_t k = middle > 0 ? middle - 1 : 0; k <= middle + 1; ++k)
    if (k < spectrum.power.size()) power += spectrum.power[k];
  return power;
}

/// Whether the parts of a hold differ at that frequency as they do where a tone only passes.
bool passes(const std::vector<PowerSpectrum>& parts, double hertz) {
  double least = 1e300;
  double most = 0.0;
  for (const PowerSpectrum& part : parts) {
    if (part.power.empty()) continue;
    const double power = line_power_at(part, hertz);
    least = std::min(least, power);
    most = std::max(most, power);
  }
  return most > least * std::pow(10.0, 0.1 * kPassesDb);
}

struct HoldSpectra {
  PowerSpectrum hertz;
  std::vector<PowerSpectrum> parts;
  std::optional<PowerSpectrum> orders;  ///< spacing in Hz at the mean speed
  double rpm;                           ///< mean
};

HoldSpectra hold_spectra(const TakeAudio& take) {
  const std::size_t length = hold_block_length(take);
  const WelchParameters parameters_hertz{WindowKind::hann, length, length / 2};
  WelchSpectrum welch(take.sample_rate, parameters_hertz, take.left_out);
  PartSpectra parts(take, parameters_hertz);
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  const double rpm = mean_rpm(take);

  const bool speed_measured = take.speed_source == "logged" || take.speed_source == "tacho";
  if (!speed_measured || turns < 32.0) {
    take.stream([&](std::span<const float> chunk) {
      welch.push(chunk);
      parts.push(chunk);
    });
    return {welch.result(), parts.results(), std::nullopt, rpm};
  }
  OrderMapParameters parameters;
  parameters.highest_order = kHighestToneOrder;
  parameters.revolutions = std::max(8.0, 4.0 * std::floor(std::min(64.0, turns / 4.0) / 4.0));
  parameters.hop_revolutions = parameters.revolutions / 2.0;
  OrderSpectrum orders(take.speed, take.sample_rate, parameters, take.left_out);
  take.stream([&](std::span<const float> chunk) {
    welch.push(chunk);
    parts.push(chunk);
    orders.push(chunk);
  });
  PowerSpectrum scaled = orders.finish();
  scaled.spacing *= rpm / 60.0;
  return {welch.result(), parts.results(), std::move(scaled), rpm};
}

Sighting hold_sighting(const TakeAudio& take, std::size_t index, const PowerSpectrum& spectrum,
                       const Peak& peak, const std::vector<Hertz>& tones, double rpm) {
  Sighting s;
  s.take = index;
  const double frequency = peak.position;
  PitchPoint point = pitch_point(take, index, 0.5 * take.seconds, frequency, peak.position_sigma);
  point.rpm = rpm;
  point.speed_rate = 0.0;
  s.points = {point};
  s.frequency_hz = {frequency, frequency};
  s.rpm = {rpm, rpm};
  s.level_db = full_scale_level(peak.power).value;
  s.levels_db = {s.level_db};
  const ToneToNoise ratio = tone_to_noise(spectrum, Hertz(frequency), tones);
  const double floor_ratio =
      10.0 *
      std::log10(peak.power / (peak.floor_density * critical_bandwidth(Hertz(frequency)).value));
  s.tone_to_noise_db = ratio.ratio              ? ratio.ratio->value
                       : ratio.indicative_ratio ? ratio.indicative_ratio->value
                                                : floor_ratio;
  s.limit_db = tone_to_noise_limit(Hertz(frequency)).value;
  s.prominent = ratio.prominent;
  s.seconds = take.seconds;
  return s;
}

std::vector<Sighting> line_sightings(const TakeAudio& take, std::size_t index,
                                     const PowerSpectrum& spectrum, double rpm) {
  if (spectrum.power.empty()) return {};
  PeakParameters parameters;
  parameters.lowest = kLowestToneHz;
  parameters.highest =
      std::min(highest_tone_hz(take), spectrum.position(spectrum.power.size() - 1));
  parameters.min_height = Decibel(kLeastLineDb);
  const std::vector<Peak> peaks = find_peaks(spectrum, parameters);
  std::vector<Hertz> tones;
  for (const Peak& peak : peaks) tones.emplace_back(peak.position);
  std::vector<Sighting> sightings;
  for (const Peak& peak : peaks)
    sightings.push_back(hold_sighting(take, index, spectrum, peak, tones, rpm));
  return sightings;
}

double sighting_frequency(const Sighting& s) { return s.points.front().frequency_hz; }

/// Adds to `kept` what the other view shows in addition; where both show a tone, the higher
/// tone-to-noise ratio is the better focus.
void merge_lines(std::vector<Sighting>& kept, std::vector<Sighting> more) {
  for (Sighting& s : more) {
    const auto twin = std::find_if(kept.begin(), kept.end(), [&](const Sighting& k) {
      return std::abs(std::log(sighting_frequency(k) / sighting_frequency(s))) < kSameTone;
    });
    if (twin == kept.end())
      kept.push_back(std::move(s));
    else if (s.tone_to_noise_db > twin->tone_to_noise_db)
      *twin = std::move(s);
  }
}

}  // namespace

std::size_t hold_block_length(const TakeAudio& take) {
  constexpr double longest_seconds = 1.2;
  const double block = std::min(longest_seconds, take.seconds / 3.5);
  return std::max<std::size_t>(64, power_of_two_from(block * take.sample_rate) / 2);
}

std::vector<Sighting> survey_hold(const TakeAudio& take, std::size_t index) {
  const HoldSpectra spectra = hold_spectra(take);
  std::vector<Sighting> sightings = line_sightings(take, index, spectra.hertz, spectra.rpm);
  if (spectra.orders)
    merge_lines(sightings, line_sightings(take, index, *spectra.orders, spectra.rpm));
  for (Sighting& s : sightings) s.passes = passes(spectra.parts, sighting_frequency(s));
  return sightings;
}

}  // namespace howl
