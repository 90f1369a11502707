#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <utility>
#include <vector>

#include "dsp/synth.h"
#include "src/demo/engine_scene.h"

/// A sweep whose engine lines stop short: as many firing orders and half orders as chance has it,
/// none above, no structure's resonances; and a pump as strong as the engine. Nothing like the
/// lines that the method expects of an engine, which fade.
inline howl::EngineScene make_bare_sweep(std::uint64_t seed) {
  using namespace howl;
  Random random(seed * 6271U + 5U);
  constexpr std::array<int, 5> usual{3, 4, 5, 6, 8};
  EngineScene scene;
  scene.sample_rate = 8000.0;
  scene.cylinders = usual[draw_index(random, usual.size())];
  scene.length = Seconds(draw_between(random, 8.0, 20.0));
  double from = draw_between(random, 700.0, 1200.0);
  double to = draw_between(random, 2200.0, 3800.0);
  if (draw_uniform(random) < 0.5) std::swap(from, to);
  const std::array<SpeedPoint, 2> ends{{{Seconds(0.0), Rpm(from)}, {scene.length, Rpm(to)}}};
  scene.drilled = SpeedCurve::through(ends, 0.001);
  scene.truth = scene.drilled;
  const auto count = static_cast<std::size_t>(scene.length.value * scene.sample_rate);
  scene.samples.assign(count, 0.0F);
  const std::vector<double> turns = crank_turns(scene.truth, count, scene.sample_rate);
  const auto phase = [&] { return draw_between(random, 0.0, 2.0 * std::numbers::pi); };
  constexpr double amplitude = 0.05;
  const auto firing_orders = 3 + static_cast<int>(draw_index(random, 8));
  const auto half_orders = static_cast<int>(draw_index(random, 16));
  const double uneven = draw_between(random, 0.05, 0.6);
  ToneFamily halves;
  halves.cycles_per_turn = 0.5;
  halves.harmonics.resize(
      static_cast<std::size_t>(std::max(half_orders, firing_orders * scene.cylinders)));
  for (int k = 1; k <= half_orders; ++k)
    halves.harmonics[static_cast<std::size_t>(k - 1)] = {amplitude * uneven / std::sqrt(k),
                                                         phase()};
  for (int k = 1; k <= firing_orders; ++k)
    halves.harmonics[static_cast<std::size_t>(k * scene.cylinders - 1)] = {
        amplitude / std::pow(k, 1.2), phase()};
  synth_family(scene.samples, turns, halves);
  ToneFamily pump;
  pump.cycles_per_turn = draw_between(random, 6.0, 24.0);
  for (int k = 1; k <= 3; ++k) pump.harmonics.push_back({0.02 / std::pow(k, 1.5), phase()});
  synth_family(scene.samples, turns, pump);
  synth_add(scene.samples, synth_pink(count, scene.sample_rate, 0.03, random));
  return scene;
}
