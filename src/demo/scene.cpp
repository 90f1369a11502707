#include "src/demo/scene.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>
#include <utility>

#include "dsp/critical_band.h"
#include "dsp/synth.h"

namespace howl {

namespace {

constexpr double kPinkRms = 0.02;
constexpr double kReadingError = 0.003;
constexpr Seconds kHold{5.0};

template <class Value, std::size_t N>
Value draw_one(Random& random, const std::array<Value, N>& values) {
  return values[draw_index(random, N)];
}

/// What was asked of the driver in one take, before jitter.
struct Drill {
  std::vector<SpeedPoint> speed;  ///< one point: a hold
  Seconds length;
  std::vector<RoadPoint> road;  ///< empty: standing; one point: steady
};

/// The invented vehicle of a pitch scene, the same in all its takes.
struct Vehicle {
  PitchKind kind{};
  double rate{};
  Interval rpm;
  ToneFamily combustion;
  double tone_amplitude{};
  double amplitude_slope_db{};  ///< from the slowest to the fastest speed
  double jitter{};
  double order{};  ///< or ratio · cycles a turn of a belt
  BeltSlip slip;
  double frequency_hz{};
  double wander{};
  double correlation_s{};
  double cycles_per_metre{};
};

// Drills.

Drill hold_at(double rpm) { return {{{Seconds(0.0), Rpm(rpm)}}, kHold, {}}; }

/// A foot's idea of a steady sweep: the speed strays by up to 4 % from the straight line.
Drill draw_sweep(Random& random, Interval rpm) {
  const double length = draw_between(random, 10.0, 20.0);
  const bool down = draw_uniform(random) < 0.5;
  constexpr std::size_t knots = 8;
  Drill drill{{}, Seconds(length), {}};
  for (std::size_t i = 0; i <= knots; ++i) {
    const double share = static_cast<double>(i) / knots;
    const double line = std::lerp(rpm.low, rpm.high, down ? 1.0 - share : share);
    const bool inner = i > 0 && i < knots;
    const double stray = inner ? 0.04 * (2.0 * draw_uniform(random) - 1.0) : 0.0;
    drill.speed.push_back({Seconds(share * length), Rpm(line * (1.0 + stray))});
  }
  return drill;
}

std::vector<Drill> draw_holds(Random& random, Interval rpm) {
  const std::size_t count = 4 + draw_index(random, 3);
  std::vector<Drill> drills;
  for (std::size_t i = 0; i < count; ++i) {
    const double place =
        (static_cast<double>(i) + 0.5 * draw_uniform(random)) / (static_cast<double>(count) - 0.5);
    drills.push_back(hold_at(rpm.low + rpm.width() * place));
  }
  return drills;
}

/// Engine speed over road speed in the gears of an invented transmission, rpm per km/h.
constexpr std::array<double, 5> kGears{95.0, 62.0, 44.0, 33.0, 26.0};

Drill road_hold(double rpm, double gear) {
  Drill drill = hold_at(rpm);
  drill.road = {{Seconds(0.0), rpm / gear}};
  return drill;
}

/// Pulling away: second gear to 3200 rpm, then third.
Drill road_sweep(Random& random) {
  const double low = kGears[1];
  const double high = kGears[2];
  const double shift = 3200.0 / low;
  const double start = draw_between(random, 1000.0, 1400.0) / low;
  const double end = shift * draw_between(random, 1.15, 1.35);
  Drill drill{{}, Seconds(14.0), {}};
  drill.road = {
      {Seconds(0.0), start}, {Seconds(7.0), shift}, {Seconds(7.6), shift}, {Seconds(14.0), end}};
  drill.speed = {{Seconds(0.0), Rpm(start * low)},
                 {Seconds(7.0), Rpm(shift * low)},
                 {Seconds(7.6), Rpm(shift * high)},
                 {Seconds(14.0), Rpm(end * high)}};
  return drill;
}

/// Holds whose road speeds do not go with their engine speeds, and the sweep.
std::vector<Drill> draw_road_drills(Random& random) {
  std::vector<Drill> drills;
  const std::array<std::size_t, 4> gears{2, 1, 4, 3};
  const std::array<double, 4> rpm{1300.0, 2700.0, 1700.0, 2200.0};
  for (std::size_t i = 0; i < gears.size(); ++i)
    drills.push_back(road_hold(rpm[i] * draw_between(random, 0.93, 1.07), kGears[gears[i]]));
  drills.push_back(road_sweep(random));
  return drills;
}

std::vector<Drill> draw_drills(Random& random, PitchKind kind, Interval rpm) {
  if (kind == PitchKind::road) return draw_road_drills(random);
  if (kind == PitchKind::steady_clip) return {hold_at(draw_between(random, rpm.low, rpm.high))};
  if (draw_uniform(random) < 0.5) return {draw_sweep(random, rpm)};
  return draw_holds(random, rpm);
}

// What the technician has of the speed.

SpeedCurve read_off(Random& random, const SpeedCurve& truth, Seconds length) {
  const double turns = truth.revolutions_at(length) - truth.revolutions_at(Seconds(0.0));
  const double rpm = 60.0 * turns / length.value * (1.0 + kReadingError * draw_normal(random));
  return SpeedCurve::constant(Rpm(std::round(rpm)), kReadingError);
}

SpeedCurve logged(Random& random, const SpeedCurve& truth, Seconds length) {
  const double lag = 0.1 * draw_uniform(random);
  std::vector<SpeedPoint> points;
  for (double t = 0.0; t <= length.value; t = 0.1 * static_cast<double>(points.size())) {
    const double rpm = truth.at(Seconds(t - lag)).value;
    points.push_back({Seconds(t), Rpm(0.25 * std::round(4.0 * rpm))});
  }
  return SpeedCurve::through(points, kReadingError);
}

// The vehicle.

/// Orders of things that the crankshaft turns directly: whole ones of pumps, odd ones of gears and
/// bearings; never one of the firing orders, which nothing could tell from combustion.
double draw_direct_order(Random& random, int cylinders) {
  const double firing = 0.5 * cylinders;
  for (;;) {
    const bool whole = draw_uniform(random) < 0.5;
    const double order =
        whole ? 5.0 + static_cast<double>(draw_index(random, 16)) : draw_between(random, 5.0, 20.0);
    if (std::abs(order / firing - std::round(order / firing)) * firing > 0.2) return order;
  }
}

double draw_belt_order(Random& random) {
  return draw_between(random, 0.9, 1.6) * static_cast<double>(6 + draw_index(random, 6));
}

BeltSlip draw_slip(Random& random) {
  const double low = draw_between(random, 0.005, 0.010);
  return {.bounds = {low, low + draw_between(random, 0.002, 0.004)},
          .correlation = Seconds(draw_between(random, 2.0, 5.0)),
          .per_1000_rpm = draw_between(random, 0.0005, 0.0015),
          .added_by_load = 0.0};
}

double frequency_at(const Vehicle& vehicle, double rpm, double kmh) {
  switch (vehicle.kind) {
    case PitchKind::locked:
    case PitchKind::steady_clip:
      return vehicle.order * rpm / 60.0;
    case PitchKind::belt:
      return vehicle.order * (1.0 - vehicle.slip.bounds.low) * rpm / 60.0;
    case PitchKind::road:
      return vehicle.cycles_per_metre * kmh / 3.6;
    case PitchKind::fixed:
    case PitchKind::unlocked:
      break;
  }
  return vehicle.frequency_hz;
}

/// Peak amplitude of a tone so much above the pink noise in its critical band.
double amplitude_for(double tone_to_noise_db, double frequency, double rate) {
  const double noise =
      pink_density(Hertz(frequency), rate, kPinkRms) * critical_bandwidth(Hertz(frequency)).value;
  return std::sqrt(2.0 * noise * power_of(Decibel(tone_to_noise_db)));
}

Vehicle draw_vehicle(Random& random, PitchKind kind, int cylinders) {
  Vehicle vehicle;
  vehicle.kind = kind;
  vehicle.rate = draw_one(random, std::array{8000.0, 10000.0, 12000.0});
  vehicle.rpm = {draw_between(random, 750.0, 1000.0), draw_between(random, 2800.0, 3800.0)};
  vehicle.jitter = draw_between(random, 0.0005, 0.003);
  vehicle.amplitude_slope_db = draw_between(random, -4.0, 8.0);
  vehicle.order =
      kind == PitchKind::belt ? draw_belt_order(random) : draw_direct_order(random, cylinders);
  vehicle.slip = draw_slip(random);
  vehicle.frequency_hz = draw_between(random, 200.0, 1500.0);
  vehicle.wander = kind == PitchKind::unlocked ? draw_between(random, 0.02, 0.08) : 0.0005;
  vehicle.correlation_s = draw_between(random, 3.0, 10.0);
  vehicle.cycles_per_metre = draw_between(random, 10.0, 40.0);
  vehicle.combustion = combustion_family(
      {.cylinders = cylinders,
       .amplitude = amplitude_for(draw_between(random, 10.0, 25.0), 60.0, vehicle.rate),
       .fall_db_per_octave = draw_between(random, 8.0, 12.0),
       .cylinder_spread = draw_between(random, 0.03, 0.15),
       .highest_order = 30.0},
      random);
  return vehicle;
}

// The audio of one take.

std::vector<double> road_speed(const Drill& drill, std::size_t samples, double rate) {
  std::vector<SpeedPoint> points;
  for (const RoadPoint& p : drill.road) points.push_back({p.time, Rpm(p.kmh)});
  const SpeedCurve curve = SpeedCurve::through(points, 0.0);  // km/h stand where rpm would
  std::vector<double> kmh(samples);
  for (std::size_t n = 0; n < samples; ++n)
    kmh[n] = curve.at(Seconds(static_cast<double>(n) / rate)).value;
  return kmh;
}

std::vector<double> wandering(Random& random, const Vehicle& vehicle, std::size_t samples) {
  const auto steps =
      static_cast<std::size_t>(kControlRate * static_cast<double>(samples) / vehicle.rate) + 2;
  std::vector<double> hz =
      synth_wander(steps, kControlRate, Seconds(vehicle.correlation_s), random);
  for (double& f : hz) f = vehicle.frequency_hz * std::exp(vehicle.wander * f);
  return stretch_control(hz, kControlRate, samples, vehicle.rate);
}

struct TonePhase {
  std::vector<double> turns;
  std::optional<Interval> slip;
};

/// Phase of the scene's tone, one turn a cycle.
TonePhase tone_phase(Random& random, const Vehicle& vehicle, const Drill& drill,
                     const SpeedCurve& truth, std::span<const double> crank) {
  switch (vehicle.kind) {
    case PitchKind::belt: {
      BeltSlip load = vehicle.slip;
      load.added_by_load = draw_between(random, 0.0, 0.002);
      const std::vector<double> slip = synth_slip(load, truth, crank.size(), vehicle.rate, random);
      const auto [low, high] = std::ranges::minmax(slip);
      return {belt_turns(crank, vehicle.order, slip), Interval{low, high}};
    }
    case PitchKind::road: {
      std::vector<double> hz = road_speed(drill, crank.size(), vehicle.rate);
      for (double& f : hz) f *= vehicle.cycles_per_metre / 3.6;
      return {phase_turns(hz, vehicle.rate), {}};
    }
    case PitchKind::fixed:
    case PitchKind::unlocked:
      return {phase_turns(wandering(random, vehicle, crank.size()), vehicle.rate), {}};
    case PitchKind::locked:
    case PitchKind::steady_clip:
      break;
  }
  std::vector<double> turns(crank.begin(), crank.end());
  for (double& t : turns) t *= vehicle.order;
  return {std::move(turns), {}};
}

/// Amplitude over the take: exact at mid speed, a few dB more or less at the ends of the range.
std::vector<float> tone_envelope(const Vehicle& vehicle, const SpeedCurve& truth,
                                 std::size_t samples) {
  const auto steps =
      static_cast<std::size_t>(kControlRate * static_cast<double>(samples) / vehicle.rate) + 2;
  const double middle = 0.5 * (vehicle.rpm.low + vehicle.rpm.high);
  std::vector<double> gains(steps);
  for (std::size_t i = 0; i < steps; ++i) {
    const double rpm = truth.at(Seconds(static_cast<double>(i) / kControlRate)).value;
    const double db = vehicle.amplitude_slope_db * (rpm - middle) / vehicle.rpm.width();
    gains[i] = vehicle.tone_amplitude * std::pow(10.0, db / 20.0);
  }
  const std::vector<double> drawn = stretch_control(gains, kControlRate, samples, vehicle.rate);
  return {drawn.begin(), drawn.end()};
}

/// Pitch at 0, 0.1, 0.2 … s, from the phase 50 ms before and after.
std::vector<double> pitch_of(std::span<const double> turns, double rate) {
  const auto reach = static_cast<std::size_t>(0.05 * rate);
  std::vector<double> hz;
  for (double t = 0.0; t * rate < static_cast<double>(turns.size()); t += 0.1) {
    const auto centre = static_cast<std::size_t>(t * rate);
    const std::size_t from = centre > reach ? centre - reach : 0;
    const std::size_t to = std::min(centre + reach, turns.size() - 1);
    hz.push_back((turns[to] - turns[from]) * rate / static_cast<double>(to - from));
  }
  return hz;
}

struct TakeAndSlip {
  SceneTake take;
  std::optional<Interval> slip;
};

TakeAndSlip make_take(Random& random, const Vehicle& vehicle, const Drill& drill) {
  const bool hold = drill.speed.size() == 1;
  const SpeedCurve truth = synth_jittered_speed(SpeedCurve::through(drill.speed, 0.0), drill.length,
                                                vehicle.jitter, random);
  const SpeedCurve written =
      hold ? read_off(random, truth, drill.length) : logged(random, truth, drill.length);
  const auto samples = static_cast<std::size_t>(drill.length.value * vehicle.rate);
  const std::vector<double> crank = crank_turns(truth, samples, vehicle.rate);
  const TonePhase tone = tone_phase(random, vehicle, drill, truth, crank);

  SceneTake take{.samples = synth_pink(samples, vehicle.rate, kPinkRms, random),
                 .sample_rate = vehicle.rate,
                 .written = written,
                 .truth = truth,
                 .road_speed_kmh = {},
                 .tone_hz = pitch_of(tone.turns, vehicle.rate),
                 .road_truth = drill.road};
  synth_family(take.samples, crank, vehicle.combustion);
  synth_family(take.samples, tone.turns,
               {.cycles_per_turn = 1.0,
                .harmonics = {{1.0, 2.0 * std::numbers::pi * draw_uniform(random)}},
                .modulation = {}},
               tone_envelope(vehicle, truth, samples));
  if (drill.road.size() == 1)
    take.road_speed_kmh = drill.road.front().kmh * (1.0 + 0.005 * draw_normal(random));
  return {std::move(take), tone.slip};
}

void tell_truth(PitchScene& scene, const Vehicle& vehicle) {
  switch (vehicle.kind) {
    case PitchKind::locked:
    case PitchKind::belt:
      scene.behaviour = Behaviour::speed_locked;
      scene.drive = vehicle.kind == PitchKind::belt ? Drive::belt : Drive::direct;
      scene.order = vehicle.order;
      break;
    case PitchKind::steady_clip:
      scene.order = vehicle.order;
      break;
    case PitchKind::fixed:
      scene.behaviour = Behaviour::fixed_pitch;
      scene.frequency_hz = vehicle.frequency_hz;
      break;
    case PitchKind::unlocked:
      scene.behaviour = Behaviour::unlocked;
      scene.frequency_hz = vehicle.frequency_hz;
      break;
    case PitchKind::road:
      scene.behaviour = Behaviour::road_locked;
      scene.cycles_per_metre = vehicle.cycles_per_metre;
      break;
  }
}

std::optional<Interval> joined(const std::optional<Interval>& a, const std::optional<Interval>& b) {
  if (!a || !b) return a ? a : b;
  return Interval{std::min(a->low, b->low), std::max(a->high, b->high)};
}

}  // namespace

PitchScene make_pitch_scene(PitchKind kind, std::uint64_t seed) {
  Random random(seed);
  PitchScene scene;
  scene.kind = kind;
  scene.cylinders = 3 + static_cast<int>(draw_index(random, 6));
  Vehicle vehicle = draw_vehicle(random, kind, scene.cylinders);
  scene.tone_to_noise_db = draw_between(random, 3.0, 30.0);
  scene.mid_hz = frequency_at(vehicle, 0.5 * (vehicle.rpm.low + vehicle.rpm.high), 50.0);
  vehicle.tone_amplitude = amplitude_for(scene.tone_to_noise_db, scene.mid_hz, vehicle.rate);
  tell_truth(scene, vehicle);
  for (const Drill& drill : draw_drills(random, kind, vehicle.rpm)) {
    TakeAndSlip made = make_take(random, vehicle, drill);
    scene.takes.push_back(std::move(made.take));
    scene.slip = joined(scene.slip, made.slip);
  }
  return scene;
}

RankingScene make_ranking_scene(std::uint64_t seed) {
  constexpr double rate = 8000.0;
  constexpr Seconds length{4.0};
  constexpr std::size_t samples = 32000;
  constexpr std::array<double, 5> steps_db{0.0, 1.0, 3.0, 6.0, 10.0};

  Random random(seed);
  const std::size_t points = 2 + draw_index(random, 7);
  const double rpm = draw_between(random, 1400.0, 1600.0);
  const SpeedCurve truth =
      synth_jittered_speed(SpeedCurve::constant(Rpm(rpm), 0.0), length, 0.001, random);
  const SpeedCurve written = read_off(random, truth, length);
  const double order = draw_between(random, 8.0, 30.0);
  const Hertz tone = frequency_of(Order(order), written.at(Seconds(0.0)));
  const FrequencyBand band = critical_band(tone);
  RankingScene scene{.sample_rate = rate,
                     .takes = {},
                     .written = written,
                     .truth = truth,
                     .order = order,
                     .band_hz = {band.low.value, band.high.value},
                     .level_db = std::vector<double>(points),
                     .hand_pressure_sd_db = draw_between(random, 1.0, 3.0),
                     .repeats = 1 + static_cast<int>(draw_index(random, 4))};
  const std::size_t loudest = draw_index(random, points);
  for (std::size_t p = 0; p < points; ++p)
    if (p != loudest) scene.level_db[p] = -draw_one(random, steps_db);

  // Tone and the band noise of its source share their path; the pink noise is everywhere the same,
  // and 20 to 35 dB below the loudest tone within its band.
  const double amplitude = amplitude_for(draw_between(random, 20.0, 35.0), tone.value, rate);
  const double hiss = amplitude * std::pow(10.0, -draw_between(random, 6.0, 15.0) / 20.0);
  const std::vector<double> crank = crank_turns(truth, samples, rate);
  for (int repeat = 1; repeat <= scene.repeats; ++repeat)
    for (std::size_t p = 0; p < points; ++p) {
      std::vector<float> signal = synth_band_noise(
          samples, rate, tone, 0.25 * critical_bandwidth(tone) / tone, hiss, random);
      synth_family(signal, crank,
                   {.cycles_per_turn = order, .harmonics = {{amplitude, 0.0}}, .modulation = {}});
      std::vector<float> take = synth_pink(samples, rate, kPinkRms, random);
      synth_add(take, signal, std::pow(10.0, scene.level_db[p] / 20.0));
      const double hand_db = scene.hand_pressure_sd_db * draw_normal(random);
      for (float& x : take) x *= static_cast<float>(std::pow(10.0, hand_db / 20.0));
      scene.takes.push_back({p, repeat, hand_db, std::move(take)});
    }
  return scene;
}

namespace {

/// The invented vehicle of a repair scene.
struct RepairVehicle {
  double rate{};
  double rpm{};
  ToneFamily combustion;
  double howl_amplitude{};
  double fixed_amplitude{};
  std::vector<double> below_db;  ///< of the howl, point by point
};

RepairVehicle draw_repair_vehicle(Random& random, RepairScene& scene) {
  RepairVehicle vehicle;
  vehicle.rate = scene.sample_rate;
  vehicle.rpm = draw_between(random, 1200.0, 2400.0);
  scene.cylinders = 3 + static_cast<int>(draw_index(random, 6));
  scene.order = draw_direct_order(random, scene.cylinders);
  scene.fixed_hz = draw_between(random, 900.0, 1500.0);
  const double hz = scene.order * vehicle.rpm / 60.0;
  vehicle.howl_amplitude = amplitude_for(draw_between(random, 14.0, 28.0), hz, vehicle.rate);
  vehicle.fixed_amplitude =
      amplitude_for(draw_between(random, 10.0, 20.0), scene.fixed_hz, vehicle.rate);
  vehicle.combustion = combustion_family(
      {.cylinders = scene.cylinders,
       .amplitude = amplitude_for(draw_between(random, 15.0, 25.0), 60.0, vehicle.rate),
       .fall_db_per_octave = draw_between(random, 8.0, 12.0),
       .cylinder_spread = draw_between(random, 0.03, 0.15),
       .highest_order = 30.0},
      random);
  for (std::size_t p = 0; p < 3; ++p) vehicle.below_db.push_back(4.0 * static_cast<double>(p));
  return vehicle;
}

void add_order(std::span<float> to, std::span<const double> crank, double order, double amplitude,
               Random& random) {
  synth_family(to, crank,
               {.cycles_per_turn = order,
                .harmonics = {{amplitude, 2.0 * std::numbers::pi * draw_uniform(random)}},
                .modulation = {}});
}

RepairScene::Take record_visit(const RepairVehicle& vehicle, const RepairScene& scene,
                               const RepairStory& story, std::size_t point, bool after, double rpm,
                               Random& random) {
  const auto samples = static_cast<std::size_t>(kHold.value * vehicle.rate);
  const SpeedCurve truth =
      synth_jittered_speed(SpeedCurve::constant(Rpm(rpm), 0.0), kHold, 0.001, random);
  const std::vector<double> crank = crank_turns(truth, samples, vehicle.rate);
  const double hand_db = story.hand_sd_db * draw_normal(random);
  RepairScene::Take take{point, after, hand_db, synth_pink(samples, vehicle.rate, kPinkRms, random),
                         read_off(random, truth, kHold)};
  synth_family(take.samples, crank, vehicle.combustion);
  const std::vector<double> fixed =
      phase_turns(std::vector<double>(samples, scene.fixed_hz), vehicle.rate);
  add_order(take.samples, fixed, 1.0, vehicle.fixed_amplitude, random);
  const double at_point = std::pow(10.0, -vehicle.below_db[point] / 20.0);
  const double left = !after                   ? 1.0
                      : story.howl_db < -100.0 ? 0.0
                                               : std::pow(10.0, story.howl_db / 20.0);
  add_order(take.samples, crank, scene.order, vehicle.howl_amplitude * at_point * left, random);
  if (after && story.new_order)
    add_order(take.samples, crank, *story.new_order, vehicle.howl_amplitude, random);
  const double gain_db = hand_db + (after ? story.all_db : 0.0);
  for (float& x : take.samples) x *= static_cast<float>(std::pow(10.0, gain_db / 20.0));
  synth_add(take.samples, synth_noise(samples, 3e-5, random));  // the recorder's own
  return take;
}

}  // namespace

RepairScene make_repair_scene(std::uint64_t seed, std::uint64_t visit, const RepairStory& story) {
  Random of_vehicle(seed);
  RepairScene scene;
  scene.sample_rate = 8000.0;
  const RepairVehicle vehicle = draw_repair_vehicle(of_vehicle, scene);
  Random random(seed + 104'729 * (visit + 1));
  for (const bool after : {false, true}) {
    const double rpm = vehicle.rpm * (after ? 1.0 + story.speed_sd * draw_normal(random) : 1.0);
    for (int repeat = 0; repeat < story.repeats; ++repeat)
      for (std::size_t p = 0; p < vehicle.below_db.size(); ++p)
        scene.takes.push_back(record_visit(vehicle, scene, story, p, after, rpm, random));
  }
  return scene;
}

}  // namespace howl
