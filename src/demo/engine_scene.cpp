#include "src/demo/engine_scene.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "dsp/synth.h"

namespace howl {

namespace {

constexpr double kSceneRate = 8000.0;

double draw_log_between(Random& random, double low, double high) {
  return std::exp(draw_between(random, std::log(low), std::log(high)));
}

std::vector<SpeedPoint> draw_drill(Random& random, bool held, Seconds length) {
  if (held) return {{Seconds(0.0), Rpm(draw_log_between(random, 650.0, 5000.0))}};
  double from = draw_log_between(random, 650.0, 2500.0);
  double to = std::min(5000.0, from * draw_between(random, 1.3, 3.0));
  if (draw_uniform(random) < 0.5) std::swap(from, to);
  return {{Seconds(0.0), Rpm(from)}, {length, Rpm(to)}};
}

void add_engine(EngineScene& scene, const std::vector<double>& turns, Random& random) {
  Combustion engine;
  engine.cylinders = scene.cylinders;
  engine.amplitude = 0.1;
  engine.fall_db_per_octave = draw_between(random, 3.0, 12.0);
  engine.cylinder_spread = draw_between(random, 0.03, 0.3);
  synth_family(scene.samples, turns, combustion_family(engine, random));
  const std::size_t resonances = 2 + draw_index(random, 3);
  for (std::size_t k = 0; k < resonances; ++k) {
    std::vector<float> through = scene.samples;
    synth_resonance(through, kSceneRate, Hertz(draw_between(random, 150.0, 1500.0)),
                    draw_between(random, 0.03, 0.15));
    synth_add(scene.samples, through, draw_between(random, 0.3, 1.0));
  }
}

double rms(const std::vector<float>& samples) {
  double sum = 0.0;
  for (const float s : samples) sum += static_cast<double>(s) * static_cast<double>(s);
  return std::sqrt(sum / static_cast<double>(samples.size()));
}

void add_accessory(EngineScene& scene, const std::vector<double>& turns, double engine_rms,
                   Random& random) {
  ToneFamily family;
  family.cycles_per_turn = draw_between(random, 1.0, 25.0);
  const std::size_t harmonics = 1 + draw_index(random, 4);
  for (std::size_t k = 1; k <= harmonics; ++k)
    family.harmonics.push_back(
        {engine_rms * draw_between(random, 0.1, 1.2) / static_cast<double>(k),
         draw_between(random, 0.0, 2.0 * std::numbers::pi)});
  synth_family(scene.samples, turns, family);
}

void add_hum(EngineScene& scene, double engine_rms, Random& random) {
  const double mains = draw_uniform(random) < 0.5 ? 50.0 : 60.0;
  for (int k = 1; k <= 4; ++k) {
    const std::vector<double> frequency(scene.samples.size(), mains * k);
    synth_add(scene.samples,
              synth_tone(frequency, kSceneRate, engine_rms * draw_between(random, 0.05, 0.5) / k));
  }
}

}  // namespace

EngineScene make_engine_scene(std::uint64_t seed) {
  Random random(seed * 7919U + 13U);
  constexpr std::array<int, 5> usual{3, 4, 5, 6, 8};
  EngineScene scene;
  scene.sample_rate = kSceneRate;
  scene.cylinders = usual[draw_index(random, usual.size())];
  scene.length = Seconds(draw_between(random, 5.0, 20.0));
  scene.held = draw_uniform(random) < 0.5;
  scene.drilled = SpeedCurve::through(draw_drill(random, scene.held, scene.length), 0.001);
  scene.truth =
      synth_jittered_speed(scene.drilled, scene.length, draw_between(random, 0.001, 0.006), random);
  const auto count = static_cast<std::size_t>(scene.length.value * kSceneRate);
  scene.samples.assign(count, 0.0F);
  const std::vector<double> turns = crank_turns(scene.truth, count, kSceneRate);
  add_engine(scene, turns, random);
  const double engine_rms = rms(scene.samples);
  const std::size_t accessories = draw_index(random, 4);
  for (std::size_t k = 0; k < accessories; ++k) add_accessory(scene, turns, engine_rms, random);
  if (draw_uniform(random) < 1.0 / 3.0) add_hum(scene, engine_rms, random);
  scene.signal_to_noise_db = draw_between(random, 0.0, 20.0);
  const double noise_rms = engine_rms * std::pow(10.0, -scene.signal_to_noise_db / 20.0);
  synth_add(scene.samples, synth_pink(count, kSceneRate, noise_rms, random));
  return scene;
}

}  // namespace howl
