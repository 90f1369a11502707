#pragma once

#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/profile/profile.h"
#include "src/reasoning/reason.h"

namespace howl::test {

// Findings as the analysis would hand them over, and small profiles to hold them against.

inline Source crank_source(const std::string& name, double count) {
  Source source;
  source.name = source.component = name;
  source.turning = CrankTurning{};
  source.makes = {{.what = "lobes", .per_turn = {count, count}, .whole_numbers = true}};
  source.causes = {{name + " worn", 1.0, "replace the " + name, 4.0, true}};
  return source;
}

inline Source belt_source(const std::string& name, Interval ratio, double count) {
  Source source;
  source.name = source.component = name;
  source.turning = BeltTurning{ratio, {0.002, 0.02}};
  source.makes = {{.what = "vanes", .per_turn = {count, count}, .whole_numbers = true}};
  source.causes = {{name + " worn", 1.0, "replace the " + name, 2.0, false}};
  return source;
}

inline Source bearing_source(const std::string& name, Interval ratio, Interval defect) {
  Source source = belt_source(name, ratio, 1.0);
  source.makes = {{.what = "outer race", .per_turn = defect}};
  source.strikes = true;
  return source;
}

/// A howl at an order, followed over a sweep; weights of the laws fixed, locked, belt, road,
/// free; 0: the law was not tried.
inline ToneResult tone_at_order(double order, double log_sigma, std::array<double, 5> weights) {
  ToneResult tone;
  tone.id = "tone1";
  tone.behaviour = Behaviour::speed_locked;
  tone.order = order;
  tone.order_ci95 = Interval{order * (1.0 - 1.96 * log_sigma), order * (1.0 + 1.96 * log_sigma)};
  tone.order_if_locked = LogEstimate{order, log_sigma};
  tone.frequency_hz = {order * 900.0 / 60.0, order * 2700.0 / 60.0};
  tone.rpm_span = {900.0, 2700.0};
  tone.prominent = true;
  tone.heard_standing = true;
  const std::array<const char*, 5> names{"fixed", "locked", "belt", "road", "free"};
  for (std::size_t i = 0; i < 5; ++i)
    if (weights[i] > 0.0) tone.laws.push_back({names[i], weights[i], 1500.0, 0.0, 1.0});
  return tone;
}

/// The same heard in one hold, which tells nothing of what its pitch follows.
inline ToneResult tone_in_one_hold(double order, double log_sigma, double rpm) {
  ToneResult tone = tone_at_order(order, log_sigma, {0.0, 0.0, 0.0, 0.0, 0.0});
  const double hertz = order * rpm / 60.0;
  tone.behaviour = Behaviour::undetermined;
  tone.order.reset();
  tone.order_ci95.reset();
  tone.rpm_span = {rpm, rpm};
  tone.frequency_hz = {hertz, hertz};
  tone.track = {{1.0, rpm, hertz, 0.1, "t01", -30.0}};
  return tone;
}

inline RankedPoint ranked(const std::string& point, double level_db, double chance) {
  RankedPoint result;
  result.point = point;
  result.level_db = level_db;
  result.probability_loudest = chance;
  return result;
}

inline Analysis analysis_of(const ToneResult& tone) {
  Analysis analysis;
  analysis.tones = {tone};
  AnalysisRequest::Band band;
  if (tone.order) {
    band = {AnalysisRequest::Band::Unit::order, {*tone.order - 0.3, *tone.order + 0.3}};
  } else {
    band = {AnalysisRequest::Band::Unit::hertz,
            {tone.frequency_hz.low - 10.0, tone.frequency_hz.high + 10.0}};
  }
  analysis.suspect_band = SuspectBand{band, false, "it howls"};
  return analysis;
}

inline Profile profile_of(std::vector<Source> sources) {
  Profile profile;
  profile.name = "test";
  profile.sources = std::move(sources);
  return profile;
}

inline Verdict judged(const Analysis& analysis, const Profile& profile, EnteredFacts entered = {},
                      std::vector<WorkshopFact> facts = {}) {
  return reason(analysis, {profile, facts, std::move(entered), {}});
}

inline const Suspect& suspect_named(const Verdict& verdict, const std::string& source) {
  for (const Suspect& suspect : verdict.suspects)
    if (suspect.source == source) return suspect;
  return verdict.suspects.back();
}

inline double chance_of_suspect(const Verdict& verdict, const std::string& source) {
  for (const Suspect& suspect : verdict.suspects)
    if (suspect.source == source) return suspect.probability;
  return -1.0;
}

}  // namespace howl::test
