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
/// Amplitudes are peak values, phases radians unless called turns; `sample_rate` is in Hz. Nothing
/// is band-limited: what lies above half the sample rate folds down, so callers keep below it.
/// Arguments out of range throw std::invalid_argument.

// Phases: how a tone is tied to what drives it. In turns (1 = one revolution), one value a sample.

/// Crankshaft angle, revolutions from time 0.
std::vector<double> crank_turns(const SpeedCurve& speed, std::size_t samples, double sample_rate);

/// Running sum of an instantaneous frequency: turns[n] = Σ_{m<n} f[m] / sample_rate.
std::vector<double> phase_turns(std::span<const double> frequency_hz, double sample_rate);

/// How much a belt slips: between `bounds` at random, slowly, plus what speed and load add.
struct BeltSlip {
  Interval bounds;           ///< fraction: 0.01 = 1 %
  Seconds correlation{4.0};  ///< correlation time of the wander between the bounds
  double per_1000_rpm{};     ///< added for every 1000 rpm above 1000
  double added_by_load{};    ///< added throughout
};

/// Slip at every sample. The wander is a Gaussian process taken through its own distribution
/// function, so that it is uniform between the bounds and never leaves them.
std::vector<double> synth_slip(const BeltSlip& slip, const SpeedCurve& speed, std::size_t samples,
                               double sample_rate, Random& random);

/// Angle of a pulley that should turn `ratio` times as fast as the crankshaft and slips:
/// the running sum of ratio·(1 − slip)·d(crank).
std::vector<double> belt_turns(std::span<const double> crank, double ratio,
                               std::span<const double> slip);

// Tones.

/// One line of a family.
struct Harmonic {
  double amplitude{};
  double phase{};
};

/// Lines at base, 2·base, 3·base … cycles a turn of the shaft, harmonics[0] first; all of them may
/// swing in amplitude as 1 + depth·sin(2π·cycles·turns), which puts sidebands of depth/2 at
/// ±cycles.
struct ToneFamily {
  struct Modulation {
    double cycles_per_turn{1.0};
    double depth{};  ///< 0 … 1
  };
  double cycles_per_turn{1.0};
  std::vector<Harmonic> harmonics;
  std::optional<Modulation> modulation;
};

/// Adds Σ a_k sin(2π·k·base·turns + φ_k), times `envelope` where one is given (one value a sample).
/// Error below 1e-8 of the amplitudes.
void synth_family(std::span<float> to, std::span<const double> turns, const ToneFamily& family,
                  std::span<const float> envelope = {});

/// A four-stroke engine with evenly spaced firing: what a structure passes on of its pulses.
struct Combustion {
  int cylinders{4};                ///< 1 … 16
  double amplitude{};              ///< of the firing order, cylinders/2
  double fall_db_per_octave{9.0};  ///< how the lines weaken above the firing order
  double cylinder_spread{0.1};     ///< standard deviation of the cylinders' strengths, relative
  double highest_order{40.0};      ///< the lines fade out over the octave below it
};

/// The lines of that engine over the crankshaft angle, at every half order: the Fourier sum of one
/// pulse a cylinder over two revolutions. Equal cylinders leave only multiples of the firing order;
/// unequal ones put weaker half orders between. Phases are random, as a transfer path leaves them.
ToneFamily combustion_family(const Combustion& engine, Random& random);

/// A sine whose frequency follows `frequency_hz`, the instantaneous frequency at every sample. Its
/// phase is the running sum, so that the pitch is exact.
std::vector<float> synth_tone(std::span<const double> frequency_hz, double sample_rate,
                              double amplitude, double phase = 0.0);

/// A sine locked to the crankshaft angle of `speed`: phase = 2π·order·revolutions(t).
std::vector<float> synth_order(const SpeedCurve& speed, Order order, std::size_t samples,
                               double sample_rate, double amplitude, double phase = 0.0);

/// Pulses of a speed sensor: `per_turn` raised-cosine pulses a turn, each `width` of the spacing
/// wide at half height; the first rising half-height crossing lies at −width/2 of a spacing.
std::vector<float> synth_pulses(std::span<const double> turns, double per_turn, double amplitude,
                                double width = 0.1);

/// A 1 at the sample of each blow, 0 between: the first after `first` turns, then `per_turn` a
/// turn, each distance off by `spread` of itself at random, as rolling elements slip by 1 or 2 %
/// (Randall and Antoni 2011, Mechanical Systems and Signal Processing 25, 485; from memory). What
/// they strike is for synth_resonance().
std::vector<float> synth_blows(std::span<const double> turns, double first, double per_turn,
                               double spread, Random& random);

// Noise and wander.

/// White Gaussian noise of the given rms.
std::vector<float> synth_noise(std::size_t samples, double rms, Random& random);

/// Pink-ish noise: about −3 dB an octave above 10 Hz, flat below; alternating poles and zeros an
/// octave apart, which keep within 0.5 dB of the slope. `rms` is that of the ensemble.
std::vector<float> synth_pink(std::size_t samples, double sample_rate, double rms, Random& random);
/// Its one-sided density at `frequency`, mean square per Hz; exact for what synth_pink makes.
double pink_density(Hertz frequency, double sample_rate, double rms);

/// Gaussian noise through a second-order band pass, −3 dB width 2·damping·centre; ensemble `rms`.
std::vector<float> synth_band_noise(std::size_t samples, double sample_rate, Hertz centre,
                                    double damping, double rms, Random& random);

/// Slow random wander: a Gaussian process with correlation time `correlation`, unit variance,
/// sampled at `sample_rate` (first-order low-pass of white noise, Ornstein and Uhlenbeck 1930).
std::vector<double> synth_wander(std::size_t samples, double sample_rate, Seconds correlation,
                                 Random& random);

/// Rate in Hz at which what wanders slowly, slip, pitch or gain, is computed here and in demo
/// takes.
inline constexpr double kControlRate = 50.0;

/// Values at `control_rate`, the first at time 0, drawn out linearly to `samples` at `sample_rate`;
/// the last value holds beyond the end.
std::vector<double> stretch_control(std::span<const double> values, double control_rate,
                                    std::size_t samples, double sample_rate);

/// Speed with jitter of `relative_sd` (correlation time 0.3 s) around a base curve: what the
/// crankshaft really did, where the base is what somebody wrote down. Its relative_error is 0.
SpeedCurve synth_jittered_speed(const SpeedCurve& base, Seconds length, double relative_sd,
                                Random& random);

// What a structure and a recording do to a signal, in place.

/// Second-order resonance (a bracket, a probe): y'' + 2ζω₀y' + ω₀²y = ω₀²x, unity gain at 0 Hz;
/// `damping` in (0, 1), `resonance` below half the sample rate. Bilinear transform with pre-warping
/// at the resonance, so that the gain there is exactly 1/(2ζ).
void synth_resonance(std::span<float> signal, double sample_rate, Hertz resonance, double damping);

/// Lost contact: the signal drops to `floor_gain` for `length` from `start`, with 5 ms fades.
void synth_dropout(std::span<float> signal, double sample_rate, Seconds start, Seconds length,
                   double floor_gain = 0.001);

/// Clips at ±limit.
void synth_clip(std::span<float> signal, float limit);

void synth_add(std::span<float> to, std::span<const float> what, double gain = 1.0);

}  // namespace howl
