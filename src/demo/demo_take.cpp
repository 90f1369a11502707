#include "src/demo/demo_take.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <span>
#include <utility>

namespace howl {

namespace {

constexpr double kReferenceRpm = 1500.0;
/// A converter's filter: partials above this share of the sample rate are not recorded.
constexpr double kHighestShare = 0.45;

template <class... Cases>
struct Overloaded : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overloaded(Cases...) -> Overloaded<Cases...>;

double gain_of(double db) { return std::pow(10.0, db / 20.0); }
/// rms of a signal whose level is `db` re a full-scale sine.
double rms_of(double db) { return gain_of(db) / std::numbers::sqrt2; }

/// Everything that the sources of one take share.
struct Stage {
  const Recipe& recipe;
  const RecipeTakes& plan;
  std::string point;
  SpeedCurve speed;
  std::size_t samples{};
  double rate{};
  double top_rpm{};
  std::vector<double> crank;
  ToneFamily combustion;  ///< unit firing order; one engine for all takes
  Random random;
};

bool agrees(const LoadState& wanted, const LoadState& load) {
  return std::ranges::all_of(wanted, [&](const auto& entry) {
    const auto found = load.find(entry.first);
    return found != load.end() && found->second == entry.second;
  });
}

LoadEffect effect_of(const RecipeSource& source, const LoadState& load) {
  LoadEffect sum;
  for (const LoadEffect& effect : source.effects)
    if (agrees(effect.load, load)) {
      sum.level_db += effect.level_db;
      sum.slip += effect.slip;
    }
  return sum;
}

/// Gain over the take: `level_db` at 1500 rpm, growing with engine speed, plus slow swings.
std::vector<float> envelope_of(Stage& stage, double level_db, double db_per_doubling,
                               double flutter_db = 0.0) {
  const auto steps =
      static_cast<std::size_t>(kControlRate * static_cast<double>(stage.samples) / stage.rate) + 2;
  std::vector<double> gains = synth_wander(steps, kControlRate, Seconds(0.5), stage.random);
  for (std::size_t i = 0; i < steps; ++i) {
    const double rpm = stage.speed.at(Seconds(static_cast<double>(i) / kControlRate)).value;
    gains[i] = gain_of(level_db + flutter_db * gains[i] +
                       db_per_doubling * std::log2(rpm / kReferenceRpm));
  }
  const std::vector<double> drawn = stretch_control(gains, kControlRate, stage.samples, stage.rate);
  return {drawn.begin(), drawn.end()};
}

void scale_by(std::span<float> signal, std::span<const float> envelope) {
  for (std::size_t n = 0; n < signal.size(); ++n) signal[n] *= envelope[n];
}

/// The harmonics that the recording can hold, with random phases.
std::vector<Harmonic> recordable(const RecipeSource& source, double top_base_hz, Stage& stage) {
  std::vector<Harmonic> harmonics;
  for (const double db : source.harmonics_db) {
    const double top = top_base_hz * static_cast<double>(harmonics.size() + 1);
    if (top > kHighestShare * stage.rate) break;
    harmonics.push_back({gain_of(db), 2.0 * std::numbers::pi * draw_uniform(stage.random)});
  }
  return harmonics;
}

/// Rolling elements slip, so that their blows stray by this much of their distance.
constexpr double kBlowSpread = 0.01;

void add_blows(Stage& stage, const RecipeSource& source, double level_db,
               std::span<const double> turns, double per_turn, std::span<float> to) {
  const Blows& blows = *source.blows;
  const double first = draw_uniform(stage.random) / per_turn;
  std::vector<float> ring = synth_blows(turns, first, per_turn, kBlowSpread, stage.random);
  synth_resonance(ring, stage.rate, Hertz(blows.ring_hz), blows.damping);
  const double power = std::inner_product(ring.begin(), ring.end(), ring.begin(), 0.0) /
                       static_cast<double>(ring.size());
  if (!(power > 0.0)) return;  // too short a take for one
  scale_by(ring, envelope_of(stage, level_db + blows.level_db, source.db_per_doubling));
  synth_add(to, ring, rms_of(0.0) / std::sqrt(power));
}

void add_family(Stage& stage, const RecipeSource& source, double level_db,
                std::span<const double> turns, double per_turn, double top_base_hz,
                std::span<float> to) {
  const ToneFamily family{.cycles_per_turn = per_turn,
                          .harmonics = recordable(source, top_base_hz, stage),
                          .modulation = source.modulation};
  synth_family(to, turns, family, envelope_of(stage, level_db, source.db_per_doubling));
  if (source.blows) add_blows(stage, source, level_db, turns, per_turn, to);
}

std::vector<double> road_turns(const Stage& stage) {
  const double metres_per_second = stage.plan.road_speed_kmh.value_or(0.0) / 3.6;
  return phase_turns(std::vector<double>(stage.samples, metres_per_second), stage.rate);
}

/// Phase in cycles of a pitch that has nothing to do with the engine. What turns has inertia: the
/// wander follows with a tenth of its correlation time.
std::vector<double> wandering_turns(Stage& stage, double frequency, double wander,
                                    double correlation_s) {
  const auto steps =
      static_cast<std::size_t>(kControlRate * static_cast<double>(stage.samples) / stage.rate) + 2;
  std::vector<double> hz = synth_wander(steps, kControlRate, Seconds(correlation_s), stage.random);
  const double follow = 1.0 - std::exp(-1.0 / (kControlRate * 0.1 * correlation_s));
  double smooth = hz.front();
  for (double& f : hz) {
    smooth += follow * (f - smooth);
    f = frequency * std::exp(wander * smooth);
  }
  return phase_turns(stretch_control(hz, kControlRate, stage.samples, stage.rate), stage.rate);
}

std::vector<float> ringing(Stage& stage, const Resonance& resonance, double below_db) {
  std::vector<float> excited(stage.samples);
  synth_family(excited, stage.crank, stage.combustion,
               envelope_of(stage, stage.recipe.engine.level_db + resonance.gain_db,
                           stage.recipe.engine.db_per_doubling));
  synth_add(excited, synth_noise(stage.samples, rms_of(resonance.noise_db), stage.random));
  synth_resonance(excited, stage.rate, Hertz(resonance.frequency_hz), resonance.damping);
  std::vector<float> out(stage.samples);
  synth_add(out, excited, 2.0 * resonance.damping * gain_of(-below_db));
  return out;
}

/// Adds one source; returns the slip of its belt, if it has one.
std::optional<Interval> add_source(Stage& stage, const RecipeSource& source, std::span<float> to) {
  LoadEffect effect = effect_of(source, stage.plan.load);
  if (&source == &stage.recipe.culprit()) {
    effect.level_db += stage.plan.howl_db;
    if (stage.plan.background) return std::nullopt;
  }
  const double below = source.below_db.at(stage.point);
  const double level = source.level_db + effect.level_db - below;
  const double top_turns = stage.top_rpm / 60.0;
  std::optional<Interval> slip_range;

  const auto crank = [&](const CrankDrive& drive) {
    add_family(stage, source, level, stage.crank, drive.order, drive.order * top_turns, to);
  };
  const auto belt = [&](const BeltDrive& drive) {
    BeltSlip slipping = drive.slip;
    slipping.added_by_load += effect.slip;
    const std::vector<double> slip =
        synth_slip(slipping, stage.speed, stage.samples, stage.rate, stage.random);
    const auto [low, high] = std::ranges::minmax(slip);
    slip_range = Interval{low, high};
    add_family(stage, source, level, belt_turns(stage.crank, drive.ratio, slip), drive.per_turn,
               drive.ratio * drive.per_turn * top_turns, to);
  };
  const auto road = [&](const RoadDrive& drive) {
    if (stage.plan.road_speed_kmh.value_or(0.0) <= 0.0) return;  // stands still: no sound
    add_family(stage, source, level, road_turns(stage), drive.cycles_per_metre,
               drive.cycles_per_metre * *stage.plan.road_speed_kmh / 3.6, to);
  };
  const auto fixed = [&](const FixedPitch& pitch) {
    add_family(stage, source, level, wandering_turns(stage, pitch.frequency_hz, pitch.wander, 2.0),
               1.0, pitch.frequency_hz * (1.0 + 4.0 * pitch.wander), to);
  };
  const auto free = [&](const FreePitch& pitch) {
    add_family(stage, source, level,
               wandering_turns(stage, pitch.frequency_hz, pitch.wander, pitch.correlation_s), 1.0,
               pitch.frequency_hz * (1.0 + 4.0 * pitch.wander), to);
  };
  const auto resonance = [&](const Resonance& bracket) {
    synth_add(to, ringing(stage, bracket, below), gain_of(effect.level_db));
  };
  const auto noise = [&](const NoiseBand& band) {
    std::vector<float> hiss = synth_band_noise(stage.samples, stage.rate, Hertz(band.frequency_hz),
                                               band.damping, rms_of(0.0), stage.random);
    scale_by(hiss, envelope_of(stage, level, source.db_per_doubling, band.flutter_db));
    synth_add(to, hiss);
  };
  std::visit(Overloaded{crank, belt, road, fixed, free, resonance, noise}, source.kind);
  return slip_range;
}

void add_engine(Stage& stage, std::span<float> to) {
  const RecipeEngine& engine = stage.recipe.engine;
  synth_family(to, stage.crank, stage.combustion,
               envelope_of(stage, engine.level_db - engine.below_db.at(stage.point),
                           engine.db_per_doubling, 0.5));
}

void add_background(Stage& stage, std::span<float> to) {
  const RecipeBackground& background = stage.recipe.background;
  std::vector<float> noise = synth_pink(stage.samples, stage.rate, rms_of(0.0), stage.random);
  scale_by(noise, envelope_of(stage, background.level_db - background.below_db.at(stage.point),
                              background.db_per_doubling));
  synth_add(to, noise);
}

/// Broadband bursts, one for each firing: valves seating, injectors, piston slap.
void add_clatter(Stage& stage, std::span<float> to) {
  const RecipeBackground& background = stage.recipe.background;
  std::vector<float> noise =
      synth_band_noise(stage.samples, stage.rate, Hertz(2200.0), 0.6, rms_of(0.0), stage.random);
  scale_by(noise, envelope_of(stage, background.clatter_db - background.below_db.at(stage.point),
                              background.db_per_doubling, 1.0));
  scale_by(noise, synth_pulses(stage.crank, 0.5 * stage.recipe.engine.lines.cylinders, 1.0, 0.15));
  synth_add(to, noise);
}

/// Mains hum: the base, and weaker harmonics 2, 3 and 5.
void add_hum(Stage& stage, std::span<float> to) {
  const RecipeRecording& recording = stage.recipe.recording;
  if (!recording.hum_hz) return;
  const double a = gain_of(recording.hum_db);
  const std::vector<double> turns =
      phase_turns(std::vector<double>(stage.samples, *recording.hum_hz), stage.rate);
  synth_family(to, turns,
               {.cycles_per_turn = 1.0,
                .harmonics = {{a, 0.0}, {0.3 * a, 1.0}, {0.5 * a, 2.0}, {}, {0.2 * a, 3.0}},
                .modulation = {}});
}

/// From the structure's vibration to the file: hand, sensor, lost contact, hum, noise, gain, clip.
void record(Stage& stage, double hand_db, std::span<float> signal) {
  const RecipeRecording& recording = stage.recipe.recording;
  for (float& x : signal) x *= static_cast<float>(gain_of(hand_db));
  synth_resonance(signal, stage.rate, Hertz(recording.sensor_resonance_hz),
                  recording.sensor_damping);
  if (const auto& dropout = stage.plan.dropout)
    synth_dropout(signal, stage.rate, Seconds(dropout->start_s), Seconds(dropout->length_s));
  add_hum(stage, signal);
  synth_add(signal, synth_noise(stage.samples, rms_of(recording.self_noise_db), stage.random));
  for (float& x : signal) x *= static_cast<float>(gain_of(stage.plan.gain_db));
  synth_clip(signal, 1.0F);
}

/// What the second microphone hears of the same moment. Engine and sources are those that the probe
/// hears: the same draws, at the levels of the microphone's place. Noise without one place, and the
/// microphone's own, are its own.
std::vector<float> heard_by_reference(const Stage& stage, std::size_t index, std::uint64_t seed) {
  RecipeTakes plan = stage.plan;
  plan.dropout.reset();  // no hand holds it
  Stage there{stage.recipe,  plan,          *stage.recipe.reference_point,
              stage.speed,   stage.samples, stage.rate,
              stage.top_rpm, stage.crank,   stage.combustion,
              stage.random};
  Stage own = there;
  own.random = Random(seed + 15'485'863 * (index + 1));
  std::vector<float> signal(stage.samples);
  std::vector<float> unheard(stage.samples);
  add_engine(there, signal);
  add_background(own, signal);
  add_clatter(own, signal);
  add_background(there, unheard);
  add_clatter(there, unheard);
  for (const RecipeSource& source : stage.recipe.sources) add_source(there, source, signal);
  record(own, 0.0, signal);
  return signal;
}

double rounded_to(double value, double step) { return step * std::round(value / step); }

/// What the technician read off: each point with one reading error for the take.
std::vector<SpeedPoint> entered(Stage& stage, double seconds) {
  const double factor = 1.0 + stage.recipe.recording.reading_error * draw_normal(stage.random);
  if (stage.plan.speed.size() == 1) {
    const double revolutions =
        stage.speed.revolutions_at(Seconds(seconds)) - stage.speed.revolutions_at(Seconds(0.0));
    return {{Seconds(0.0), Rpm(rounded_to(factor * 60.0 * revolutions / seconds, 1.0))}};
  }
  std::vector<SpeedPoint> points = stage.plan.speed;
  for (SpeedPoint& p : points) p.speed = Rpm(rounded_to(factor * p.speed.value, 1.0));
  return points;
}

/// What a diagnostic socket logs: 10 Hz, steps of 0.25 rpm (SAE J1979, PID 0x0C), up to 0.1 s late.
std::vector<SpeedPoint> logged(Stage& stage, double seconds) {
  const double lag = 0.1 * draw_uniform(stage.random);
  std::vector<SpeedPoint> points;
  for (double t = 0.0; t <= seconds; t = 0.1 * static_cast<double>(points.size()))
    points.push_back({Seconds(t), Rpm(rounded_to(stage.speed.at(Seconds(t - lag)).value, 0.25))});
  return points;
}

Stage make_stage(const Recipe& recipe, const PlannedTake& planned, std::uint64_t seed,
                 std::size_t index) {
  const RecipeTakes& plan = recipe.takes[planned.entry];
  Random vehicle(seed);
  Combustion lines = recipe.engine.lines;
  lines.amplitude = 1.0;
  const ToneFamily combustion = combustion_family(lines, vehicle);

  Random random(seed + 7919 * (index + 1) + 104'729 * recipe.visit);
  const SpeedCurve speed =
      synth_jittered_speed(SpeedCurve::through(plan.speed, 0.0), Seconds(plan.seconds),
                           recipe.recording.speed_jitter, random);
  const auto samples = static_cast<std::size_t>(plan.seconds * recipe.sample_rate);
  Stage stage{.recipe = recipe,
              .plan = plan,
              .point = planned.point,
              .speed = speed,
              .samples = samples,
              .rate = recipe.sample_rate,
              .top_rpm = speed.range(Seconds(0.0), Seconds(plan.seconds)).high.value,
              .crank = crank_turns(speed, samples, recipe.sample_rate),
              .combustion = combustion,
              .random = random};
  const double top = kHighestShare * stage.rate;
  const double half_order_hz = 0.5 * stage.top_rpm / 60.0;
  if (const auto most = static_cast<std::size_t>(top / half_order_hz);
      stage.combustion.harmonics.size() > most)
    stage.combustion.harmonics.resize(most);
  return stage;
}

}  // namespace

std::vector<PlannedTake> planned_takes(const Recipe& recipe) {
  std::vector<PlannedTake> takes;
  for (std::size_t entry = 0; entry < recipe.takes.size(); ++entry)
    for (int repeat = 1; repeat <= recipe.takes[entry].repeats; ++repeat)
      for (const std::string& point : recipe.takes[entry].points)
        takes.push_back({entry, point, repeat});
  return takes;
}

DemoTake synthesise_take(const Recipe& recipe, std::size_t index, std::uint64_t seed) {
  const PlannedTake planned = planned_takes(recipe).at(index);
  Stage stage = make_stage(recipe, planned, seed, index);
  DemoTake take{
      .samples = std::vector<float>(stage.samples),
      .sample_rate = stage.rate,
      .tacho = {},
      .reference = {},
      .truth = stage.speed,
      .written = {},
      .hand_pressure_db = recipe.recording.hand_pressure_sd_db * draw_normal(stage.random),
      .slip = {}};
  if (recipe.reference_point) take.reference = heard_by_reference(stage, index, seed);
  add_engine(stage, take.samples);
  add_background(stage, take.samples);
  add_clatter(stage, take.samples);
  for (const RecipeSource& source : recipe.sources) {
    const std::optional<Interval> slip = add_source(stage, source, take.samples);
    if (&source == &recipe.culprit()) take.slip = slip;
  }
  record(stage, take.hand_pressure_db, take.samples);

  switch (stage.plan.written) {
    case SpeedWritten::entered:
      take.written = entered(stage, stage.plan.seconds);
      break;
    case SpeedWritten::log:
      take.written = logged(stage, stage.plan.seconds);
      break;
    case SpeedWritten::tacho:
      take.tacho = synth_pulses(stage.crank, stage.plan.pulses_per_revolution, 0.7);
      break;
  }
  return take;
}

}  // namespace howl
