#include "src/analysis/suspect_band.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace howl {

namespace {

constexpr double kReachShare = 0.03;  // of the tone's order or frequency, on either side
constexpr double kLeastOrders = 0.2;
constexpr double kLeastHertz = 8.0;

Interval around(double centre, double least, const Interval& span) {
  const double reach = std::max(least, kReachShare * centre);
  return {std::max(0.0, std::min(span.low, centre) - reach), std::max(span.high, centre) + reach};
}

/// Sightings at one speed.
struct Crowd {
  Interval frequency_hz;
  Interval rpm;
  std::size_t size{};
};

/// The speed at which most takes show the tone.
Crowd largest_crowd(const ToneResult& tone) {
  constexpr double same_speed = 0.02;
  Crowd best;
  for (const TrackPoint& seed : tone.track) {
    Crowd crowd{{seed.frequency_hz, seed.frequency_hz}, {seed.rpm, seed.rpm}, 0};
    std::set<std::string> takes;
    for (const TrackPoint& p : tone.track) {
      if (std::abs(p.rpm / seed.rpm - 1.0) > same_speed ||
          std::abs(p.frequency_hz / seed.frequency_hz - 1.0) > 2.0 * same_speed)
        continue;
      takes.insert(p.take);
      crowd.frequency_hz = {std::min(crowd.frequency_hz.low, p.frequency_hz),
                            std::max(crowd.frequency_hz.high, p.frequency_hz)};
      crowd.rpm = {std::min(crowd.rpm.low, p.rpm), std::max(crowd.rpm.high, p.rpm)};
    }
    crowd.size = takes.size();
    if (crowd.size > best.size) best = crowd;
  }
  return best;
}

std::string tone_words(const ToneResult& tone) {
  if (tone.behaviour == Behaviour::speed_locked)
    return fmt::format("speed-locked order {:.2f}", *tone.order);
  if (tone.frequency_hz.width() < 1.0)
    return fmt::format("{} tone at {:.0f} Hz", behaviour_name(tone.behaviour),
                       tone.frequency_hz.low);
  return fmt::format("{} tone at {:.0f} to {:.0f} Hz", behaviour_name(tone.behaviour),
                     tone.frequency_hz.low, tone.frequency_hz.high);
}

bool in_band(const ToneResult& tone, const AnalysisRequest::Band& band) {
  if (band.unit == AnalysisRequest::Band::Unit::order) {
    if (tone.order) return band.range.contains(*tone.order);
    return tone.behaviour == Behaviour::undetermined && tone.order_if_locked &&
           band.range.contains(tone.order_if_locked->value);
  }
  return std::ranges::any_of(
      tone.track, [&](const TrackPoint& p) { return band.range.contains(p.frequency_hz); });
}

}  // namespace

bool can_be_the_howl(const ToneResult& tone) {
  return !tone.combustion && tone.remark.empty() && !tone.sideband;
}

const ToneResult* first_howl(const std::vector<ToneResult>& tones) {
  const auto tone = std::ranges::find_if(tones, can_be_the_howl);
  return tone == tones.end() ? nullptr : &*tone;
}

std::optional<BandProposal> propose_band(const std::vector<ToneResult>& tones) {
  const ToneResult* const tone = first_howl(tones);
  if (tone == nullptr) return std::nullopt;
  BandProposal proposal;
  proposal.takes = tone->takes;
  AnalysisRequest::Band& band = proposal.band.band;
  if (tone->behaviour == Behaviour::speed_locked) {
    band.unit = AnalysisRequest::Band::Unit::order;
    band.range = around(*tone->order, kLeastOrders, *tone->order_ci95);
  } else {
    band.unit = AnalysisRequest::Band::Unit::hertz;
    Interval heard = tone->frequency_hz;
    if (tone->behaviour == Behaviour::undetermined) proposal.speeds = tone->rpm_span;
    if (tone->behaviour == Behaviour::road_locked) {
      // Its pitch moves with the road, so only takes of one speed can share a band.
      const Crowd crowd = largest_crowd(*tone);
      heard = crowd.frequency_hz;
      proposal.speeds = crowd.rpm;
    }
    band.range = around(0.5 * (heard.low + heard.high), kLeastHertz, heard);
  }
  proposal.band.why = fmt::format("{} {} ({:.0f} dB over the noise in its critical band{}{})",
                                  tone->prominent ? "the most prominent howl is the"
                                                  : "nothing howls prominently; strongest is the",
                                  tone_words(*tone), tone->tone_to_noise_db,
                                  tone->prominent ? "" : ", below the ECMA-418-1 criterion",
                                  tone->maybe_combustion ? "; it may be the engine's firing" : "");
  return proposal;
}

const ToneResult* tone_in_band(const std::vector<ToneResult>& tones,
                               const AnalysisRequest::Band& band) {
  const auto tone = std::ranges::find_if(
      tones, [&](const ToneResult& t) { return can_be_the_howl(t) && in_band(t, band); });
  if (tone != tones.end()) return &*tone;
  const auto firing = std::ranges::find_if(
      tones, [&](const ToneResult& t) { return t.combustion && in_band(t, band); });
  return firing == tones.end() ? nullptr : &*firing;
}

}  // namespace howl
