#include "src/analysis/standing_humps.h"

#include <algorithm>
#include <cmath>

#include "dsp/critical_band.h"
#include "dsp/peaks.h"
#include "dsp/prominence.h"

namespace howl {

namespace {

constexpr double kStretchRatio = 0.2;  // ln n of a stretch, about
constexpr std::size_t kMostStretches = 8;
constexpr std::size_t kFewestStretches = 5;
constexpr double kLeastStretchShare = 2.0 / 3.0;
constexpr double kSamePlace = 0.005;  // ln f
constexpr double kLeastHumpDb = 3.5;
constexpr std::size_t kFewestColumns = 6;

/// A peak in the spectrum of one stretch.
struct StretchPeak {
  std::size_t stretch;
  Peak peak;
};

/// One peak a stretch, all at about the same frequency.
std::vector<StretchPeak> at_place(const std::vector<StretchPeak>& all, double frequency) {
  std::vector<StretchPeak> chosen;
  for (const StretchPeak& p : all) {
    if (std::abs(std::log(p.peak.position / frequency)) > kSamePlace) continue;
    if (!chosen.empty() && chosen.back().stretch == p.stretch) {
      if (p.peak.power > chosen.back().peak.power) chosen.back() = p;
    } else {
      chosen.push_back(p);
    }
  }
  return chosen;
}

}  // namespace

StandingHumps::StandingHumps(const TakeAudio& take, double line_spacing_hz)
    : take_(&take), spacing_(line_spacing_hz) {
  const SpeedCurve::Range range = speed_range(take);
  log_rpm_ = {std::log(range.low.value), std::log(range.high.value)};
  stretches_.resize(std::clamp<std::size_t>(
      static_cast<std::size_t>(log_rpm_.width() / kStretchRatio), 1, kMostStretches));
}

std::size_t StandingHumps::stretch_of(double rpm) const {
  const double share = (std::log(rpm) - log_rpm_.low) / log_rpm_.width();
  const double place = std::clamp(share, 0.0, 1.0) * static_cast<double>(stretches_.size());
  return std::min(stretches_.size() - 1, static_cast<std::size_t>(place));
}

void StandingHumps::add(double time, std::span<const float> power) {
  const double rpm = take_->speed.at(Seconds(time)).value;
  Stretch& stretch = stretches_[stretch_of(rpm)];
  stretch.sum.resize(power.size(), 0.0);
  for (std::size_t k = 0; k < power.size(); ++k) stretch.sum[k] += static_cast<double>(power[k]);
  ++stretch.columns;
  stretch.time_sum += time;
  stretch.log_rpm_sum += std::log(rpm);
}

std::vector<Sighting> StandingHumps::find(std::size_t take_index) const {
  std::vector<StretchPeak> all;
  std::size_t filled = 0;
  for (std::size_t s = 0; s < stretches_.size(); ++s) {
    const Stretch& stretch = stretches_[s];
    if (stretch.columns < kFewestColumns) continue;
    ++filled;
    PowerSpectrum spectrum;
    spectrum.spacing = spacing_;
    spectrum.noise_bandwidth_bins = 1.5;
    spectrum.effective_averages = 0.9 * static_cast<double>(stretch.columns);  // half overlap, Hann
    for (const double sum : stretch.sum)
      spectrum.power.push_back(sum / static_cast<double>(stretch.columns));
    PeakParameters parameters;
    parameters.lowest = std::max(2.0 * kLowestToneHz, 5.0 * spacing_);
    parameters.highest = highest_tone_hz(*take_);
    parameters.min_height = Decibel(kLeastHumpDb);
    for (const Peak& peak : find_peaks(spectrum, parameters)) all.push_back({s, peak});
  }
  const auto enough = std::max(static_cast<double>(kFewestStretches),
                               kLeastStretchShare * static_cast<double>(filled));

  std::vector<Sighting> humps;
  std::vector<StretchPeak> seeds = all;
  std::sort(seeds.begin(), seeds.end(), [](const StretchPeak& a, const StretchPeak& b) {
    return a.peak.above_floor > b.peak.above_floor;
  });
  for (const StretchPeak& seed : seeds) {
    const std::vector<StretchPeak> members = at_place(all, seed.peak.position);
    const bool taken = std::any_of(humps.begin(), humps.end(), [&](const Sighting& h) {
      return seed.peak.position > h.frequency_hz.low * (1.0 - 2.0 * kSamePlace) &&
             seed.peak.position < h.frequency_hz.high * (1.0 + 2.0 * kSamePlace);
    });
    if (taken || static_cast<double>(members.size()) < enough) continue;
    Sighting hump;
    hump.take = take_index;
    hump.followed = true;
    hump.frequency_hz = {seed.peak.position, seed.peak.position};
    double power = 0.0;
    double noise = 0.0;
    for (const StretchPeak& m : members) {
      const Stretch& stretch = stretches_[m.stretch];
      const auto columns = static_cast<double>(stretch.columns);
      // A hump's top wanders inside its width with what lights it up.
      const double sigma = std::max(m.peak.position_sigma, m.peak.width_lines * spacing_ / 6.0);
      PitchPoint point =
          pitch_point(*take_, take_index, stretch.time_sum / columns, m.peak.position, sigma);
      point.rpm = std::exp(stretch.log_rpm_sum / columns);
      point.speed_rate = 0.0;
      hump.points.push_back(point);
      hump.levels_db.push_back(full_scale_level(m.peak.power).value);
      hump.frequency_hz = {std::min(hump.frequency_hz.low, m.peak.position),
                           std::max(hump.frequency_hz.high, m.peak.position)};
      power += m.peak.power;
      noise += m.peak.floor_density * critical_bandwidth(Hertz(m.peak.position)).value;
    }
    const SpeedCurve::Range range = speed_range(*take_);
    hump.rpm = {range.low.value, range.high.value};
    hump.level_db = full_scale_level(power / static_cast<double>(members.size())).value;
    hump.tone_to_noise_db = 10.0 * std::log10(power / noise);
    hump.limit_db = tone_to_noise_limit(Hertz(seed.peak.position)).value;
    hump.prominent = is_prominent(hump.tone_to_noise_db, hump.limit_db, seed.peak.position);
    hump.seconds = take_->seconds;
    humps.push_back(std::move(hump));
  }
  return humps;
}

}  // namespace howl
