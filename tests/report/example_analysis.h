#pragma once

#include "src/analysis/analysis.h"

namespace howl::testing {

/// An analysis with a bit of everything: a locked tone, an undetermined one with what is not known
/// left unknown, a firing order, three points of which one has no level.
inline Analysis example_analysis() {
  ToneResult locked;
  locked.id = "tone1";
  locked.order = 11.0;
  locked.order_ci95 = Interval{10.98, 11.02};
  locked.frequency_hz = {146.7, 458.3};
  locked.behaviour = Behaviour::speed_locked;
  locked.drive = Drive::direct;
  locked.pitch_exponent = 1.0;
  locked.pitch_exponent_ci95 = Interval{0.99, 1.01};
  locked.rpm_span = {800.0, 2500.0};
  locked.level_db = -32.1;
  locked.tone_to_noise_db = 18.4;
  locked.prominent = true;
  locked.takes = {"t01", "t02"};
  locked.track = {{0.0, 800.0, 146.7, 0.2, "t01"}};
  locked.laws = {{"locked", 0.98, 1500.0, 275.0, 1.0}};

  ToneResult undetermined;
  undetermined.id = "tone2";
  undetermined.frequency_hz = {812.2, 812.2};
  undetermined.rpm_span = {1500.0, 1500.0};
  undetermined.level_db = -51.0;
  undetermined.takes = {"t01"};
  undetermined.advice = "record the same point at 1000 rpm and at 2500 rpm";

  ToneResult firing = locked;
  firing.id = "tone3";
  firing.order = 2.0;
  firing.combustion = true;

  Analysis analysis;
  analysis.takes = {
      {"t01", "transmission pan", {{"ac", "off"}}, "entered", 800.0, 2500.0, {}, 12.0, {}},
      {"t02", "steering pump", {}, "entered", 1500.0, 1500.0, {}, 8.04, {"clipped in 3 places"}}};
  analysis.tones = {locked, undetermined, firing};
  ImpactResult impact;
  impact.id = "impact1";
  impact.takes = {"t01", "t02"};
  impact.band_hz = {3500.0, 4500.0};
  impact.spectral_kurtosis = 1.7;
  impact.order = 13.76;
  impact.order_ci95 = {13.68, 13.84};
  impact.frequency_hz = {183.5, 573.3};
  impact.rpm_span = {800.0, 2500.0};
  impact.harmonics = 3;
  impact.modulation_depth = 0.41;
  impact.false_alarm_probability = 1e-6;
  impact.meaning = "something strikes 13.76 times a crank turn";
  impact.advice = "compare with the defect orders of each bearing near the point";
  analysis.impacts = {impact};
  analysis.suspect_band = SuspectBand{
      {AnalysisRequest::Band::Unit::order, {10.8, 11.2}}, false, "it holds the strongest howl"};
  analysis.ranking = {{"transmission pan",
                       -32.1,
                       Interval{-33.0, -31.2},
                       0.0,
                       Interval{0.0, 0.0},
                       0.973,
                       Call::clear,
                       {"t01"},
                       {}},
                      {"steering pump",
                       -38.4,
                       Interval{-39.9, -37.0},
                       6.3,
                       Interval{4.9, 7.7},
                       0.027,
                       Call::clear,
                       {"t02"},
                       {}},
                      {"alternator",
                       std::nullopt,
                       std::nullopt,
                       std::nullopt,
                       std::nullopt,
                       std::nullopt,
                       Call::no_difference,
                       {},
                       {"no take at this speed"}}};
  analysis.warnings = {"The speeds of two takes differ."};
  analysis.cautions = {"Keep hands away from belts and fans."};
  return analysis;
}

inline Case example_case() {
  Case value;
  value.title = "Whine from 1500 rpm";
  value.profile = "transverse-belt";
  return value;
}

}  // namespace howl::testing
