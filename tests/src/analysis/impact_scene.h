#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <functional>
#include <memory>
#include <numbers>
#include <optional>
#include <span>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/synth.h"
#include "src/analysis/take_audio.h"

namespace howl::test {

/// A take of a four-cylinder engine with combustion orders, bursts of valve noise at every firing
/// and pink noise, in which something may strike a resonance, and something may howl.
struct ImpactScene {
  bool sweep{};                          ///< 900 to 3000 rpm in 12 s, logged; else a hold, entered
  double rpm{1500.0};                    ///< of a hold
  double seconds{8.0};                   ///< of a hold
  std::optional<double> strike_order{};  ///< blows a crank turn; none: nothing strikes
  double strike_db{};                    ///< mean power of the ringing over all noise, 3 to 5 kHz
  double resonance_hz{4000.0};
  double swell_order{};  ///< blows come and go with this order; 0: all are alike
  double howl_order{};   ///< a steady howl; 0: nothing howls
  int howl_harmonics{3};
  double howl_amplitude{0.04};  ///< each harmonic 7 dB below the one before
};

namespace impact_scene {

constexpr double kRate = 16000.0;

inline double power_between(std::span<const float> signal, double low, double high) {
  return band_power(welch_spectrum(signal, kRate, {WindowKind::hann, 1024, 512}), low, high);
}

/// Blows whose distances stray by 1 % each, as rolling elements slip.
inline std::vector<float> blows(const ImpactScene& scene, std::span<const double> crank,
                                Random& random) {
  std::vector<float> out = synth_blows(crank, 0.3, *scene.strike_order, 0.01, random);
  if (scene.swell_order > 0.0)
    for (std::size_t i = 0; i < crank.size(); ++i)
      out[i] *= static_cast<float>(
          1.0 + 0.8 * std::sin(2.0 * std::numbers::pi * scene.swell_order * crank[i]));
  synth_resonance(out, kRate, Hertz(scene.resonance_hz), 0.03);
  return out;
}

inline std::vector<float> engine(std::span<const double> crank, Random& random) {
  std::vector<float> out = synth_pink(crank.size(), kRate, 0.02, random);
  synth_family(out, crank, combustion_family({.cylinders = 4, .amplitude = 0.1}, random));
  std::vector<float> clatter =
      synth_band_noise(crank.size(), kRate, Hertz(2200.0), 0.6, 0.02, random);
  const std::vector<float> firing = synth_pulses(crank, 2.0, 1.0, 0.15);
  for (std::size_t i = 0; i < clatter.size(); ++i) clatter[i] *= firing[i];
  synth_add(out, clatter);
  return out;
}

inline std::vector<float> howl(const ImpactScene& scene, std::span<const double> crank,
                               Random& random) {
  ToneFamily family{.cycles_per_turn = scene.howl_order, .harmonics = {}, .modulation = {}};
  for (int k = 0; k < scene.howl_harmonics; ++k)
    family.harmonics.push_back({scene.howl_amplitude * std::pow(10.0, -0.35 * k),
                                2.0 * std::numbers::pi * draw_uniform(random)});
  std::vector<float> out(crank.size());
  synth_family(out, crank, family);
  return out;
}

/// What a 10 Hz log has of the speed: up to 0.1 s late.
inline SpeedCurve logged(const SpeedCurve& truth, double seconds, Random& random) {
  const double lag = 0.1 * draw_uniform(random);
  std::vector<SpeedPoint> points;
  for (double t = 0.0; t < seconds; t += 0.1)
    points.push_back({Seconds(t), Rpm(0.25 * std::round(4.0 * truth.at(Seconds(t - lag)).value))});
  return SpeedCurve::through(points, 0.003);
}

}  // namespace impact_scene

inline TakeAudio impact_take(const ImpactScene& scene, std::uint64_t seed) {
  using namespace impact_scene;
  Random random(seed);
  const double seconds = scene.sweep ? 12.0 : scene.seconds;
  const std::vector<SpeedPoint> ramp{{Seconds(0.0), Rpm(900.0)}, {Seconds(12.0), Rpm(3000.0)}};
  const SpeedCurve asked =
      scene.sweep ? SpeedCurve::through(ramp, 0.0) : SpeedCurve::constant(Rpm(scene.rpm), 0.0);
  const SpeedCurve truth = synth_jittered_speed(asked, Seconds(seconds), 0.002, random);
  const auto count = static_cast<std::size_t>(seconds * kRate);
  const std::vector<double> crank = crank_turns(truth, count, kRate);
  const auto samples = std::make_shared<std::vector<float>>(engine(crank, random));
  if (scene.strike_order) {
    const std::vector<float> ringing = blows(scene, crank, random);
    const double ratio =
        power_between(*samples, 3000.0, 5000.0) / power_between(ringing, 3000.0, 5000.0);
    synth_add(*samples, ringing, std::sqrt(ratio * std::pow(10.0, scene.strike_db / 10.0)));
  }
  if (scene.howl_order > 0.0) synth_add(*samples, howl(scene, crank, random));
  TakeAudio take;
  take.id = scene.sweep ? "sweep" : "hold";
  take.point = "bracket";
  take.sample_rate = kRate;
  take.seconds = seconds;
  if (scene.sweep) {
    take.speed = logged(truth, seconds, random);
    take.speed_source = "logged";
    take.lag_sigma = 0.15;
  } else {
    const double turns =
        truth.revolutions_at(Seconds(seconds)) - truth.revolutions_at(Seconds(0.0));
    const double read = 60.0 * turns / seconds * (1.0 + 0.003 * draw_normal(random));
    take.speed = SpeedCurve::constant(Rpm(std::round(read)), 0.005);
    take.speed_source = "entered";
  }
  take.stream = [samples](const std::function<void(std::span<const float>)>& to) {
    constexpr std::size_t chunk = 65536;
    for (std::size_t i = 0; i < samples->size(); i += chunk)
      to(std::span(*samples).subspan(i, std::min(chunk, samples->size() - i)));
  };
  return take;
}

}  // namespace howl::test
