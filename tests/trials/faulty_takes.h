#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <span>
#include <string>
#include <vector>

#include "dsp/synth.h"
#include "src/analysis/quality.h"
#include "src/demo/demo_take.h"
#include "src/demo/scene.h"

namespace howl::test {

/// A take as a recorder delivers it: whole scenes with known truth, clean unless spoilt on purpose.
struct Recorded {
  std::vector<float> samples;
  double sample_rate{};
  SpeedCurve speed = SpeedCurve::constant(Rpm(1000.0), 0.01);

  double seconds() const { return static_cast<double>(samples.size()) / sample_rate; }
  std::size_t at(double time) const { return static_cast<std::size_t>(time * sample_rate); }
};

inline double rms_of(std::span<const float> samples) {
  double sum = 0.0;
  for (const float x : samples) sum += static_cast<double>(x) * static_cast<double>(x);
  return std::sqrt(sum / static_cast<double>(samples.size()));
}

inline float peak_of(std::span<const float> samples) {
  float peak = 0.0F;
  for (const float x : samples) peak = std::max(peak, std::abs(x));
  return peak;
}

inline void scale(Recorded& take, double gain) {
  for (float& x : take.samples) x *= static_cast<float>(gain);
}

inline void quantise(Recorded& take, int bits) {
  const auto full = static_cast<float>(1U << static_cast<unsigned>(bits - 1));
  for (float& x : take.samples) x = std::clamp(std::round(x * full), -full, full - 1.0F) / full;
}

inline QualityOfTake judge(const Recorded& from) {
  TakeAudio take;
  take.id = "t01";
  take.sample_rate = from.sample_rate;
  take.seconds = from.seconds();
  take.speed = from.speed;
  take.speed_source = "entered";
  take.stream = [&from](const std::function<void(std::span<const float>)>& to) {
    constexpr std::size_t chunk = 10'007;
    for (std::size_t i = 0; i < from.samples.size(); i += chunk)
      to(std::span(from.samples).subspan(i, std::min(chunk, from.samples.size() - i)));
  };
  return judge_quality(take);
}

inline const QualityFinding* finding(const QualityOfTake& quality, QualityKind kind) {
  for (const QualityFinding& f : quality.findings)
    if (f.kind == kind) return &f;
  return nullptr;
}

/// An engine at its loudest beside the probe: hard combustion, clatter at every firing, a howl that
/// swings in level, a second one that comes and goes; idle of three cylinders to 3000 rpm, hold or
/// sweep.
inline Recorded loud_engine(std::uint64_t seed, double seconds = 8.0) {
  constexpr double rate = 48000.0;
  Random random(seed);
  const double low = draw_between(random, 650.0, 1800.0);
  const bool sweeps = draw_uniform(random) < 0.4;
  const double high = sweeps ? low * draw_between(random, 1.5, 2.5) : low;
  const std::array<SpeedPoint, 2> ends{{{Seconds(0.0), Rpm(low)}, {Seconds(seconds), Rpm(high)}}};
  const SpeedCurve written = SpeedCurve::through(ends, 0.003);
  const SpeedCurve truth = synth_jittered_speed(written, Seconds(seconds), 0.002, random);
  const auto count = static_cast<std::size_t>(seconds * rate);
  const std::vector<double> crank = crank_turns(truth, count, rate);
  const int cylinders = 3 + static_cast<int>(draw_index(random, 4));

  Recorded take{synth_pink(count, rate, 0.02, random), rate, written};
  synth_family(take.samples, crank,
               combustion_family({.cylinders = cylinders,
                                  .amplitude = draw_between(random, 0.05, 0.4),
                                  .fall_db_per_octave = draw_between(random, 4.0, 9.0),
                                  .cylinder_spread = 0.2,
                                  .highest_order = 60.0},
                                 random));
  std::vector<float> clatter =
      synth_band_noise(count, rate, Hertz(2200.0), 0.6, draw_between(random, 0.01, 0.2), random);
  const std::vector<float> pulses = synth_pulses(crank, 0.5 * cylinders, 1.0, 0.1);
  for (std::size_t i = 0; i < count; ++i) take.samples[i] += clatter[i] * pulses[i];
  synth_family(take.samples, crank,
               {.cycles_per_turn = draw_between(random, 6.0, 25.0),
                .harmonics = {{draw_between(random, 0.01, 0.4), 0.0}, {0.05, 1.0}},
                .modulation = ToneFamily::Modulation{1.0, draw_between(random, 0.0, 0.9)}});
  std::vector<float> comes_and_goes(count, 0.0F);
  std::fill(comes_and_goes.begin() + static_cast<std::ptrdiff_t>(count / 3),
            comes_and_goes.begin() + static_cast<std::ptrdiff_t>(2 * count / 3), 1.0F);
  for (std::size_t i = 1; i < count; ++i)  // as a clutch engages, within some 50 ms
    comes_and_goes[i] =
        comes_and_goes[i - 1] + 0.0005F * (comes_and_goes[i] - comes_and_goes[i - 1]);
  synth_family(take.samples, crank,
               {.cycles_per_turn = 1.2 * 7.03,
                .harmonics = {{draw_between(random, 0.0, 0.3), 0.0}, {0.02, 2.0}},
                .modulation = {}},
               comes_and_goes);
  return take;
}

/// Clean scenes of all kinds, recorded with more or less gain, in 16 or 24 bits.
inline Recorded clean_take(std::uint64_t index) {
  Random random(977 * index + 5);
  Recorded take;
  if (index % 2 == 0) {
    constexpr std::array kinds{PitchKind::locked, PitchKind::belt,     PitchKind::fixed,
                               PitchKind::road,   PitchKind::unlocked, PitchKind::steady_clip};
    const PitchScene scene = make_pitch_scene(kinds[index / 2 % kinds.size()], index);
    const SceneTake& one = scene.takes[draw_index(random, scene.takes.size())];
    take = {one.samples, one.sample_rate, one.written};
  } else {
    take = loud_engine(index, draw_between(random, 4.0, 10.0));
  }
  const double peak_db = draw_between(random, -40.0, -0.5);
  scale(take, std::pow(10.0, peak_db / 20.0) / static_cast<double>(peak_of(take.samples)));
  quantise(take, draw_uniform(random) < 0.5 ? 16 : 24);
  return take;
}

// ---- faults; times in seconds ----

/// Cuts tops at a ceiling `db` below the peak; the converter behind it adds noise 70 dB below.
inline void overdrive(Recorded& take, double db, double ceiling, Random& random) {
  const double peak = static_cast<double>(peak_of(take.samples));
  scale(take, ceiling * std::pow(10.0, db / 20.0) / peak);
  synth_clip(take.samples, static_cast<float>(ceiling));
  synth_add(take.samples, synth_noise(take.samples.size(), ceiling * 3e-4, random));
}

inline void lose_as_zeros(Recorded& take, double time, double length) {
  std::fill(take.samples.begin() + static_cast<std::ptrdiff_t>(take.at(time)),
            take.samples.begin() + static_cast<std::ptrdiff_t>(take.at(time + length)), 0.0F);
}

inline void lose_and_hold(Recorded& take, double time, double length) {
  const std::size_t from = take.at(time);
  std::fill(take.samples.begin() + static_cast<std::ptrdiff_t>(from),
            take.samples.begin() + static_cast<std::ptrdiff_t>(take.at(time + length)),
            take.samples[from]);
}

inline void repeat_block(Recorded& take, double time, double length) {
  const std::size_t from = take.at(time);
  const std::size_t count = take.at(length);
  std::copy_n(take.samples.begin() + static_cast<std::ptrdiff_t>(from - count), count,
              take.samples.begin() + static_cast<std::ptrdiff_t>(from));
}

inline void cut_out(Recorded& take, double time, double length) {
  take.samples.erase(take.samples.begin() + static_cast<std::ptrdiff_t>(take.at(time)),
                     take.samples.begin() + static_cast<std::ptrdiff_t>(take.at(time + length)));
}

/// Mains hum of `db` re the take's power, odd lines strongest.
inline void add_hum(Recorded& take, double mains, double db) {
  const double amplitude = rms_of(take.samples) * std::pow(10.0, db / 20.0) * 1.2;
  const std::vector<double> turns =
      phase_turns(std::vector<double>(take.samples.size(), mains), take.sample_rate);
  synth_family(take.samples, turns,
               {.cycles_per_turn = 1.0,
                .harmonics = {{amplitude, 0.0},
                              {0.3 * amplitude, 1.0},
                              {0.5 * amplitude, 2.0},
                              {0.1 * amplitude, 0.5},
                              {0.2 * amplitude, 3.0}},
                .modulation = {}});
}

/// A probe that lets go: from `from` to `to` the sound fades over `fade` into one that has lost
/// `loss_db` above a corner of 500 Hz and `low_db` throughout.
inline void loosen(Recorded& take, double from, double to, double fade, double low_db,
                   double loss_db) {
  const double corner = 1.0 - std::exp(-2.0 * std::numbers::pi * 250.0 / take.sample_rate);
  const double low_gain = std::pow(10.0, -low_db / 20.0);
  const double high_gain = std::pow(10.0, -(low_db + loss_db) / 20.0);
  double low = 0.0;
  for (std::size_t i = 0; i < take.samples.size(); ++i) {
    const double x = static_cast<double>(take.samples[i]);
    low += corner * (x - low);
    const double t = static_cast<double>(i) / take.sample_rate;
    const double depth = std::clamp(std::min((t - from) / fade, (to - t) / fade), 0.0, 1.0);
    const double loose = low_gain * low + high_gain * (x - low);
    take.samples[i] = static_cast<float>(x + depth * (loose - x));
  }
}

/// A knock whose peak is `db` above the take's rms, with 15 ms to ring down.
inline void knock(Recorded& take, double time, double db, Random& random) {
  const double peak = rms_of(take.samples) * std::pow(10.0, db / 20.0);
  const std::size_t from = take.at(time);
  const std::size_t count = take.at(0.1);
  const std::vector<float> noise = synth_noise(count, peak / 3.0, random);
  for (std::size_t i = 0; i < count && from + i < take.samples.size(); ++i)
    take.samples[from + i] +=
        noise[i] *
        static_cast<float>(std::exp(-static_cast<double>(i) / (0.015 * take.sample_rate)));
}

/// Wind, or a hand that trembles: mostly below 10 Hz, falling by 12 dB an octave above.
inline void add_rumble(Recorded& take, double db, Random& random) {
  std::vector<float> shaking = synth_noise(take.samples.size(), 1.0, random);
  synth_resonance(shaking, take.sample_rate, Hertz(8.0), 0.7);
  synth_add(take.samples, shaking,
            rms_of(take.samples) * std::pow(10.0, db / 20.0) / rms_of(shaking));
}

}  // namespace howl::test
