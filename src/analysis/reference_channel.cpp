#include "src/analysis/reference_channel.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "dsp/coherence.h"
#include "dsp/delay.h"
#include "dsp/level.h"
#include "dsp/noise_floor.h"
#include "dsp/one_signal.h"
#include "dsp/order_map.h"
#include "src/analysis/band_levels.h"
#include "src/analysis/sighting.h"

namespace howl {

namespace {

constexpr double kLeastBlocks = 8.0;  // of a take, not overlapped
constexpr double kLeastOverFloorDb = 3.0;
constexpr double kLeastCoherentShare = 0.5;
constexpr double kAlpha = 0.01;
constexpr double kFloorReach = 4.0;  // bands that the noise floor is taken from

/// The reference as if it were the probe.
TakeAudio reference_of(const TakeAudio& take) {
  TakeAudio reference = take;
  reference.stream = [both =
                          take.stream_both](const std::function<void(std::span<const float>)>& to) {
    both([&](std::span<const float>, std::span<const float> samples) { to(samples); });
  };
  return reference;
}

/// x is the reference, y the probe; lines in Hz.
CrossSpectrum hertz_cross_spectrum(const TakeAudio& take, double block_seconds,
                                   const TimeSpans& left_out = {}) {
  const std::size_t length =
      std::max<std::size_t>(64, power_of_two_from(block_seconds * take.sample_rate));
  CrossWelch welch(take.sample_rate, {WindowKind::hann, length, length / 2}, left_out);
  take.stream_both([&](std::span<const float> probe, std::span<const float> reference) {
    welch.push(reference, probe);
  });
  return welch.result();
}

/// What is left out of a take, in revolutions from one on.
TimeSpans turns_left_out(const TakeAudio& take, double first_revolution) {
  TimeSpans turns = take.left_out;
  for (Interval& span : turns)
    for (double* const end : {&span.low, &span.high})
      *end = take.speed.revolutions_at(Seconds(*end)) - first_revolution;
  return turns;
}

/// The same over crankshaft angle; lines in orders.
CrossSpectrum order_cross_spectrum(const TakeAudio& take, const Interval& band) {
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  const double block_turns = std::clamp(std::ceil(kLinesInBand / band.width()), 2.0,
                                        std::max(2.0, std::floor(turns / kLeastBlocks)));
  const double rate = samples_per_revolution(std::max(20.0, 1.3 * band.high));
  const auto length = 2 * static_cast<std::size_t>(std::ceil(0.5 * block_turns * rate));
  AngleResampler probe_angle(take.speed, take.sample_rate, rate);
  AngleResampler reference_angle(take.speed, take.sample_rate, rate);
  CrossWelch welch(rate, {WindowKind::hann, length, length / 2},
                   turns_left_out(take, probe_angle.first_revolution()));
  std::vector<float> probe_turned;
  std::vector<float> reference_turned;
  const auto pass_on = [&] {
    welch.push(reference_turned, probe_turned);
    probe_turned.clear();
    reference_turned.clear();
  };
  take.stream_both([&](std::span<const float> probe, std::span<const float> reference) {
    probe_angle.push(probe, probe_turned);
    reference_angle.push(reference, reference_turned);
    pass_on();
  });
  probe_angle.finish(probe_turned);
  reference_angle.finish(reference_turned);
  pass_on();
  return welch.result();
}

CrossSpectrum band_cross_spectrum(const TakeAudio& take, const AnalysisRequest::Band& band) {
  if (band.unit == AnalysisRequest::Band::Unit::order)
    return order_cross_spectrum(take, band.range);
  return hertz_cross_spectrum(
      take, 0.75 * std::min(kLinesInBand / band.range.width(), take.seconds / kLeastBlocks),
      take.left_out);
}

/// The part of the energy in the band that is coherent, of either channel.
double coherent_share(const PowerSpectrum& coherent, const PowerSpectrum& whole,
                      const Interval& band) {
  const double all = band_power(whole, band.low, band.high);
  return all > 0.0 ? band_power(coherent, band.low, band.high) / all : 0.0;
}

PowerSpectrum coherent_part_of_x(const CrossSpectrum& spectrum) {
  PowerSpectrum part = spectrum.x_spectrum();
  const std::vector<double> lines = coherence(spectrum);
  for (std::size_t k = 0; k < lines.size(); ++k)
    part.power[k] *= unbiased_coherence(lines[k], spectrum.effective_averages);
  return part;
}

/// Whether the most coherent line in the band is more so than chance allows.
bool significantly_coherent(const CrossSpectrum& spectrum, const Interval& band) {
  const std::vector<double> lines = coherence(spectrum);
  double highest = 0.0;
  double count = 0.0;
  for (std::size_t k = 0; k < lines.size(); ++k) {
    if (!band.contains(spectrum.position(k))) continue;
    highest = std::max(highest, lines[k]);
    ++count;
  }
  return count > 0.0 && highest > coherence_limit(spectrum.effective_averages, kAlpha / count);
}

double floor_power(const PowerSpectrum& reference, const Interval& band) {
  PowerSpectrum floor = reference;
  floor.power = noise_floor(reference, kFloorReach * band.width());
  return band_power(floor, band.low, band.high);
}

/// Standard deviation in dB of a level that is the mean of blocks; engines hunt over a second or
/// so, so blocks are drawn in runs of a second.
double level_error_db(const BandBlocks& blocks) {
  constexpr std::size_t replicates = 400;
  Random random(1);
  const double wanted = blocks.block_seconds > 0.0 ? std::ceil(1.0 / blocks.block_seconds) : 2.0;
  const auto run = std::clamp<std::size_t>(static_cast<std::size_t>(std::max(2.0, wanted)), 1,
                                           std::max<std::size_t>(1, blocks.block_power.size() / 3));
  std::vector<double> levels = block_bootstrap_means(blocks.block_power, run, replicates, random);
  for (double& level : levels) level = 10.0 * std::log10(level);
  return standard_deviation(levels);
}

ReferenceReading reading_of(const BandBlocks& blocks, const CrossSpectrum& spectrum,
                            const Interval& band) {
  ReferenceReading reading;
  const PowerSpectrum reference = spectrum.x_spectrum();
  const double over_floor_db =
      10.0 * std::log10(band_power(reference, band.low, band.high) / floor_power(reference, band));
  const bool stands_out = over_floor_db >= kLeastOverFloorDb;
  reading.level_db = full_scale_level(mean(blocks.block_power)).value;
  reading.level_sd_db = level_error_db(blocks);
  if (stands_out) {
    const double kept = background_correction(Decibel(over_floor_db)).value;
    reading.level_db -= kept;
    reading.level_sd_db *= std::pow(10.0, kept / 10.0);  // the error stays, the level falls
  }
  reading.hears = stands_out;
  if (spectrum.effective_averages < 2.0) return reading;
  reading.coherence = coherent_share(coherent_output(spectrum), spectrum.y_spectrum(), band);
  const bool coherent =
      significantly_coherent(spectrum, band) &&
      coherent_share(coherent_part_of_x(spectrum), reference, band) >= kLeastCoherentShare;
  reading.hears = stands_out || coherent;
  return reading;
}

std::vector<std::string> takes_without(std::span<const ReferencedTake> takes,
                                       bool (*has)(const ReferencedTake&)) {
  std::vector<std::string> ids;
  for (const ReferencedTake& take : takes)
    if (!has(take)) ids.push_back(take.take);
  return ids;
}

bool has_reference(const ReferencedTake& take) { return take.has_reference; }
bool hears(const ReferencedTake& take) { return take.reading && take.reading->hears; }

LevelCorrection correction_of(const ReferenceReading& reading, double mean_level_db) {
  const double correction = mean_level_db - reading.level_db;
  const double uncertain =
      (1.0 - reading.coherence.value_or(0.0)) * std::abs(correction) / std::sqrt(3.0);
  return {correction, std::hypot(reading.level_sd_db, uncertain)};
}

}  // namespace

std::optional<ReferenceReading> read_reference(const TakeAudio& take,
                                               const AnalysisRequest::Band& band) {
  if (!take.stream_both) return std::nullopt;
  const BandBlocks blocks = band_blocks(reference_of(take), band);
  if (blocks.block_power.empty() || !(mean(blocks.block_power) > 0.0)) return std::nullopt;
  const CrossSpectrum spectrum = band_cross_spectrum(take, band);
  if (spectrum.x.empty() || band.range.high > spectrum.position(spectrum.x.size() - 1))
    return std::nullopt;
  return reading_of(blocks, spectrum, band.range);
}

std::optional<double> reference_delay(const TakeAudio& take) {
  constexpr double block_seconds = 0.12;
  if (!take.stream_both) return std::nullopt;
  CrossSpectrum spectrum = hertz_cross_spectrum(take, block_seconds);
  const auto lines = std::min(spectrum.x.size(),
                              static_cast<std::size_t>(highest_tone_hz(take) / spectrum.spacing));
  spectrum.x.resize(lines);
  spectrum.y.resize(lines);
  spectrum.cross.resize(lines);
  const DelayOutcome outcome = estimate_delay(spectrum, {});
  if (const auto* found = std::get_if<FoundDelay>(&outcome)) return found->delay.value;
  return std::nullopt;
}

bool is_reference_the_probe(const TakeAudio& take) {
  constexpr double longest_block = 0.5;  // s: lines of mains hum stay apart from each other
  if (!take.stream_both) return false;
  const CrossSpectrum spectrum =
      hertz_cross_spectrum(take, 0.5 * std::min(longest_block, take.seconds / 4.0));
  return is_one_signal(spectrum, {kLowestToneHz, highest_tone_hz(take)});
}

LevelCorrections level_corrections(std::span<const ReferencedTake> takes) {
  if (std::none_of(takes.begin(), takes.end(), has_reference)) return {};
  if (const auto bare = takes_without(takes, has_reference); !bare.empty())
    return {{},
            {fmt::format("{} {} no usable reference channel and others have, so no level is "
                         "corrected for changes of the source; record every take with the "
                         "reference",
                         fmt::join(bare, ", "), bare.size() == 1 ? "has" : "have")}};
  if (const auto deaf = takes_without(takes, hears); !deaf.empty())
    return {{},
            {fmt::format("the reference microphone does not hear the suspect band in {}, so no "
                         "level is corrected for changes of the source; set it nearer to the howl",
                         fmt::join(deaf, ", "))}};
  std::map<std::size_t, std::vector<Decibel>> levels;
  for (const ReferencedTake& take : takes)
    levels[take.condition].emplace_back(take.reading->level_db);
  LevelCorrections corrections;
  for (const ReferencedTake& take : takes)
    corrections.takes.push_back(
        correction_of(*take.reading, energy_mean(levels.at(take.condition))->value));
  return corrections;
}

}  // namespace howl
