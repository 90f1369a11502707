#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// Signals whose truth is known by construction. Every maker is deterministic in its seed.

/// A sine whose frequency follows `frequency_hz(t)` given as samples of the instantaneous
/// frequency. Its phase is the running sum, so that the pitch is exact. `amplitude` is a peak
/// value.
std::vector<float> synth_tone(std::span<const double> frequency_hz, double sample_rate,
                              double amplitude, double phase = 0.0);

/// A sine locked to the crankshaft angle of `speed`: phase = 2π·order·revolutions(t).
std::vector<float> synth_order(const SpeedCurve& speed, Order order, std::size_t samples,
                               double sample_rate, double amplitude, double phase = 0.0);

/// White Gaussian noise of the given rms.
std::vector<float> synth_noise(std::size_t samples, double rms, Random& random);

/// Slow random wander: a Gaussian process with correlation time `correlation`, unit variance,
/// sampled at `sample_rate` (first-order low-pass of white noise, Ornstein and Uhlenbeck 1930).
std::vector<double> synth_wander(std::size_t samples, double sample_rate, Seconds correlation,
                                 Random& random);

/// Speed with jitter of `relative_sd` (correlation time 0.3 s) around a base curve: what the
/// crankshaft really did, where the base is what somebody wrote down.
SpeedCurve synth_jittered_speed(const SpeedCurve& base, Seconds length, double relative_sd,
                                Random& random);

/// Second-order resonance (a bracket, a probe): y'' + 2ζω₀y' + ω₀²y = ω₀²x, unity gain at 0 Hz, in
/// place; `damping` in (0, 1). Bilinear transform with pre-warping at the resonance.
void synth_resonance(std::span<float> signal, double sample_rate, Hertz resonance, double damping);

void synth_add(std::span<float> to, std::span<const float> what, double gain = 1.0);

}  // namespace howl
