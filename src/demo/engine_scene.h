#pragma once

#include <cstdint>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/units.h"

namespace howl {

/// One recording of a running engine with known speed, to try speed from sound on: 3 to 8
/// cylinders, 650 to 5000 rpm, held or swept, 5 to 20 s. Firing and half orders through two to four
/// resonances of a structure, up to three accessories with harmonics at any ratio, mains hum in one
/// of three, pink noise 0 to 20 dB below the engine. Everything follows from the seed.
struct EngineScene {
  std::vector<float> samples;
  double sample_rate{};
  Seconds length{};
  int cylinders{};
  bool held{};
  double signal_to_noise_db{};
  SpeedCurve drilled = SpeedCurve::constant(Rpm(1000.0), 0.0);  ///< what the driver aimed at
  SpeedCurve truth = SpeedCurve::constant(Rpm(1000.0), 0.0);    ///< what the crankshaft did
};

EngineScene make_engine_scene(std::uint64_t seed);

}  // namespace howl
