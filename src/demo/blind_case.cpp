#include "src/demo/blind_case.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <span>
#include <stdexcept>
#include <utility>

#include "dsp/statistics.h"
#include "src/profile/load_tests.h"

namespace howl {

namespace {

constexpr double kHoldRpm = 1500.0;
constexpr double kTransferSd = 6.0;
/// Of vehicles, in which levels stray twice as far (common practice, and what the reasoning
/// expects).
constexpr double kOddVehicle = 0.2;
/// Of howls with an order, whose second or third harmonic is the strongest (common practice).
constexpr double kStrongerMultiple = 0.2;
constexpr double kSurprise = 0.1;  ///< of reactions that differ from the profile's
/// With these a resonance is about as loud as any other howl while a firing order lies on it, as
/// the one of the demo case is.
constexpr double kRingGainDb = 55.0;
constexpr double kRingNoiseDb = 4.0;
constexpr double kCaseRate = 16'000.0;
constexpr double kHoldSeconds = 3.0;
constexpr double kSweepSeconds = 12.0;
/// On the road, one engine speed in several gears.
constexpr double kRoadKmhAtHold = 50.0;
/// Common practice: what is lower is called a boom.
constexpr double kLowestHowlHz = 80.0;

double log_between(Random& random, double low, double high) {
  return low * std::pow(high / low, draw_uniform(random));
}
bool chance(Random& random, double probability) { return draw_uniform(random) < probability; }

/// Cycles per turn of the shaft, by what the source makes; drawn from any part's where not known.
double draw_per_turn(const Source& source, Random& random) {
  if (source.makes.empty()) return std::round(draw_between(random, 5.0, 20.0));
  double total = 0.0;
  for (const Makes& makes : source.makes) total += makes.share;
  double at = total * draw_uniform(random);
  const Makes* chosen = &source.makes.back();
  for (const Makes& makes : source.makes) {
    if (at < makes.share) {
      chosen = &makes;
      break;
    }
    at -= makes.share;
  }
  if (!chosen->whole_numbers) return draw_between(random, chosen->per_turn);
  const double first = std::ceil(chosen->per_turn.low);
  const double last = std::floor(chosen->per_turn.high);
  return first +
         static_cast<double>(draw_index(random, static_cast<std::size_t>(last - first) + 1));
}

/// A source's pitch in the vehicle, and the turns of its shaft that its sidebands lie apart.
struct DrawnPitch {
  SourceKind kind;
  double shaft_turns{1.0};
};

struct DrawPitch {
  const Source& source;
  Random& random;

  DrawnPitch operator()(const CrankTurning& turning) const {
    const double ratio = draw_between(random, turning.ratio);
    return {CrankDrive{ratio * draw_per_turn(source, random)}, ratio};
  }
  DrawnPitch operator()(const BeltTurning& turning) const {
    const double mean_slip = draw_between(random, turning.slip);
    BeltSlip slip;
    slip.bounds = {0.7 * mean_slip, 1.3 * mean_slip};
    return {BeltDrive{draw_between(random, turning.ratio), draw_per_turn(source, random), slip},
            1.0};
  }
  DrawnPitch operator()(const RoadTurning& turning) const {
    const double turns = draw_between(random, turning.turns_per_metre);
    return {RoadDrive{turns * draw_per_turn(source, random)}, turns};
  }
  DrawnPitch operator()(const FreeTurning& turning) const {
    const double hertz =
        turning.hertz ? draw_between(random, *turning.hertz) : log_between(random, 150.0, 2000.0);
    // Half of such motors hold their speed, half wander with load and voltage.
    if (chance(random, 0.4)) return {FixedPitch{hertz, 0.0005}, 0.0};
    return {FreePitch{hertz, draw_between(random, 0.01, 0.06), draw_between(random, 2.0, 6.0)},
            0.0};
  }
  DrawnPitch operator()(const Ringing& turning) const {
    const double hertz =
        turning.hertz ? draw_between(random, *turning.hertz) : log_between(random, 150.0, 1500.0);
    return {Resonance{hertz, draw_between(random, 0.004, 0.012), 0.0, 0.0}, 0.0};
  }
};

std::vector<double> draw_harmonics(double probability, Random& random) {
  std::vector<double> db{0.0};
  if (!chance(random, probability)) return db;
  double level = 0.0;
  const std::size_t count = 1 + draw_index(random, 4);
  for (std::size_t k = 0; k < count; ++k) db.push_back(level -= draw_between(random, 3.0, 9.0));
  return db;
}

Reaction drawn_reaction(const Source* source, const std::string& test, Random& random) {
  Reaction reaction = Reaction::unknown;
  if (source != nullptr) {
    const auto known = source->reacts.find(test);
    if (known != source->reacts.end()) reaction = known->second;
  }
  if (reaction != Reaction::unknown && !chance(random, kSurprise)) return reaction;
  const double draw = draw_uniform(random);
  if (draw < 0.5) return Reaction::same;
  if (draw < 0.75) return Reaction::louder;
  return draw < 0.9 ? Reaction::quieter : Reaction::stops;
}

double change_db(Reaction reaction, Random& random) {
  switch (reaction) {
    case Reaction::louder:
    case Reaction::starts:
      return std::max(2.0, 6.0 + 3.0 * draw_normal(random));
    case Reaction::quieter:
      return std::min(-2.0, -6.0 + 3.0 * draw_normal(random));
    case Reaction::stops:
      return -60.0;
    case Reaction::same:
    case Reaction::unknown:
      break;
  }
  return 0.7 * draw_normal(random);
}

/// What each load test does to it, belts slipping more where they pull harder.
std::vector<LoadEffect> draw_effects(const Source* source, bool belt, Random& random) {
  std::vector<LoadEffect> effects;
  for (const LoadTest& test : load_tests()) {
    const Reaction reaction = drawn_reaction(source, test.key, random);
    LoadEffect effect;
    effect.load = {{test.key, test.loaded.front()}};
    effect.level_db = change_db(reaction, random);
    if (belt && reaction == Reaction::louder) effect.slip = draw_between(random, 0.002, 0.01);
    effects.push_back(std::move(effect));
  }
  return effects;
}

/// The vehicle's probe points, and how far levels stray there from what the profile says, dB.
struct Places {
  std::vector<std::string> points;
  double stray_db{};
};

BelowByPoint draw_transfer(const Source* source, const Places& places, Random& random) {
  BelowByPoint below;
  double least = 1e300;
  for (const std::string& point : places.points) {
    double expected = 12.0;
    if (source != nullptr) {
      const auto known = source->below_db.find(point);
      expected = known == source->below_db.end() ? source->elsewhere_db : known->second;
    }
    below[point] = expected + places.stray_db * draw_normal(random);
    least = std::min(least, below[point]);
  }
  for (auto& [point, db] : below) db -= least;
  return below;
}

RecipeSource draw_source(const Source& source, const Places& places, double level_db,
                         Random& random) {
  RecipeSource drawn;
  const DrawnPitch pitch = std::visit(DrawPitch{source, random}, source.turning);
  drawn.name = source.name;
  drawn.kind = pitch.kind;
  drawn.level_db = level_db;
  drawn.harmonics_db = draw_harmonics(source.chance_of_harmonics, random);
  if (pitch.shaft_turns > 0.0 && chance(random, source.chance_of_sidebands))
    drawn.modulation = ToneFamily::Modulation{.cycles_per_turn = pitch.shaft_turns,
                                              .depth = draw_between(random, 0.2, 0.7)};
  drawn.db_per_doubling = draw_between(random, 0.0, 5.0);
  drawn.below_db = draw_transfer(&source, places, random);
  drawn.effects =
      draw_effects(&source, std::holds_alternative<BeltTurning>(source.turning), random);
  if (auto* resonance = std::get_if<Resonance>(&drawn.kind)) {
    resonance->gain_db = level_db + kRingGainDb;
    resonance->noise_db = level_db + kRingNoiseDb;
  }
  return drawn;
}

struct PitchAtHold {
  double crank_hertz;
  double metres_a_second;
  double operator()(const CrankDrive& d) const { return d.order * crank_hertz; }
  double operator()(const BeltDrive& d) const { return d.ratio * d.per_turn * crank_hertz; }
  double operator()(const RoadDrive& d) const { return d.cycles_per_metre * metres_a_second; }
  double operator()(const FixedPitch& d) const { return d.frequency_hz; }
  double operator()(const FreePitch& d) const { return d.frequency_hz; }
  double operator()(const Resonance& d) const { return d.frequency_hz; }
  double operator()(const NoiseBand& d) const { return d.frequency_hz; }
};

/// Nobody calls a tone a howl that lies so low that it is felt as a shake or heard as a boom.
bool can_howl(const RecipeSource& source) {
  return std::visit(PitchAtHold{kHoldRpm / 60.0, kRoadKmhAtHold / 3.6}, source.kind) >=
         kLowestHowlHz;
}

/// The source, drawn again until it howls; none where it hardly ever does.
std::optional<RecipeSource> draw_howl(const Source& source, const Places& places, double level_db,
                                      Random& random) {
  constexpr int kTries = 100;
  for (int i = 0; i < kTries; ++i) {
    RecipeSource drawn = draw_source(source, places, level_db, random);
    if (can_howl(drawn)) return drawn;
  }
  return std::nullopt;
}

/// Half of the parts that strike when they are at fault are heard to; so are half of the healthy
/// ones, which tick as weakly as they sound. Draws of its own, so that nothing else depends on it.
void draw_blows(RecipeSource& drawn, const Source& source, std::uint64_t seed) {
  Random random(seed);
  if (!source.strikes || !chance(random, 0.5)) return;
  drawn.blows = Blows{draw_between(random, -12.0, 3.0), draw_between(random, 1500.0, 5000.0),
                      draw_between(random, 0.015, 0.05)};
}

bool has_order(const RecipeSource& source) {
  return std::holds_alternative<CrankDrive>(source.kind) ||
         std::holds_alternative<BeltDrive>(source.kind) ||
         std::holds_alternative<RoadDrive>(source.kind);
}

/// Draws of its own too.
void draw_stronger_multiple(RecipeSource& drawn, std::uint64_t seed) {
  Random random(seed);
  if (!has_order(drawn) || !chance(random, kStrongerMultiple)) return;
  const std::size_t strongest = chance(random, 0.75) ? 1 : 2;  // as the reasoning expects
  std::vector<double>& db = drawn.harmonics_db;
  while (db.size() <= strongest) db.push_back(db.back() - draw_between(random, 3.0, 9.0));
  const double weaker = draw_between(random, 3.0, 20.0);
  for (double& harmonic : db) harmonic -= weaker;
  db[strongest] = 0.0;
}

/// Something that nobody listed: any law, any place.
Source unlisted(Random& random) {
  Source source;
  source.name = "something else";
  source.component = source.name;
  const double any_order = log_between(random, 2.0, 60.0);
  const std::size_t law = draw_index(random, 4);
  if (law == 0) source.turning = CrankTurning{{1.0, 1.0}};
  if (law == 1) source.turning = BeltTurning{{1.0, 1.0}, {0.003, 0.02}};
  if (law == 2) source.turning = FreeTurning{};
  if (law == 3) source.turning = Ringing{};
  source.makes = {{.what = "lines", .per_turn = {any_order, any_order}}};
  return source;
}

std::vector<std::string> names_of(const std::vector<ProbePoint>& points) {
  std::vector<std::string> names;
  for (const ProbePoint& point : points) names.push_back(point.name);
  return names;
}

/// Points where the culprit is loudest come first in four of five cases.
std::vector<std::string> draw_points(const Profile& profile, const RecipeSource& culprit,
                                     Random& random) {
  std::vector<std::string> points = names_of(profile.points);
  for (std::size_t i = points.size(); i > 1; --i)
    std::swap(points[i - 1], points[draw_index(random, i)]);
  const std::size_t most = std::min<std::size_t>(10, points.size());
  const std::size_t count = 2 + draw_index(random, most - 1);
  if (chance(random, 0.8)) {
    const auto loudest = std::ranges::min_element(
        points, {}, [&](const std::string& point) { return culprit.below_db.at(point); });
    std::iter_swap(points.begin(), loudest);
  }
  points.resize(std::min(count, points.size()));
  return points;
}

std::string loudest_of(const std::vector<std::string>& points, const RecipeSource& culprit) {
  return *std::ranges::min_element(
      points, {}, [&](const std::string& point) { return culprit.below_db.at(point); });
}

RecipeTakes hold_at(double rpm, std::vector<std::string> points) {
  RecipeTakes takes;
  takes.points = std::move(points);
  takes.speed = {{Seconds(0.0), Rpm(rpm)}};
  takes.seconds = kHoldSeconds;
  return takes;
}

RecipeTakes sweep_at(const std::string& point, SpeedWritten written) {
  RecipeTakes takes;
  takes.points = {point};
  takes.speed = {{Seconds(0.0), Rpm(900.0)}, {Seconds(kSweepSeconds), Rpm(2800.0)}};
  takes.seconds = kSweepSeconds;
  takes.written = written;
  return takes;
}

bool on_the_road(const RecipeSource& culprit) {
  return std::holds_alternative<RoadDrive>(culprit.kind);
}

/// On the road everything is recorded rolling, and other holds in other gears.
void roll(RecipeTakes& takes, double kmh) { takes.road_speed_kmh = kmh; }

/// A resonance is recorded where it howls: at the speed nearest the usual hold that lays a firing
/// order on it.
double hold_rpm(const Recipe& recipe) {
  const auto* resonance = std::get_if<Resonance>(&recipe.culprit().kind);
  if (resonance == nullptr) return kHoldRpm;
  const double firing = 0.5 * recipe.engine.lines.cylinders;
  const double multiple =
      std::max(1.0, std::round(resonance->frequency_hz / (firing * kHoldRpm / 60.0)));
  return 60.0 * resonance->frequency_hz / (firing * multiple);
}

double hold_rpm_of(const RecipeTakes& takes) { return takes.speed.front().speed.value; }

void plan_takes(Recipe& recipe, const std::vector<std::string>& points, Random& random) {
  const RecipeSource& culprit = recipe.culprit();
  const bool road = on_the_road(culprit);
  const std::string best = loudest_of(points, culprit);
  recipe.takes.push_back(hold_at(hold_rpm(recipe), points));
  if (road) roll(recipe.takes.back(), kRoadKmhAtHold);
  if (chance(random, 0.8)) {
    recipe.takes.push_back(hold_at(1900.0, {best}));
    if (road) roll(recipe.takes.back(), 42.0);
    recipe.takes.push_back(hold_at(2500.0, {best}));
    if (road) roll(recipe.takes.back(), 66.0);
  }
  if (!road && chance(random, 0.8))
    recipe.takes.push_back(
        sweep_at(best, chance(random, 0.3) ? SpeedWritten::tacho : SpeedWritten::log));
}

bool tells(const LoadTest& test) { return !test.vehicle_moves; }

void add_load_test(Recipe& recipe, const LoadTest& test, const std::string& point) {
  RecipeTakes takes = hold_at(hold_rpm_of(recipe.takes.front()), {point});
  takes.load = {{test.key, test.loaded.front()}};
  takes.road_speed_kmh = recipe.takes.front().road_speed_kmh;
  recipe.takes.push_back(std::move(takes));
}

void draw_load_tests(Recipe& recipe, Random& random) {
  std::vector<const LoadTest*> tests;
  for (const LoadTest& test : load_tests())
    if (tells(test)) tests.push_back(&test);
  const std::string point = loudest_of(recipe.takes.front().points, recipe.culprit());
  const std::size_t count = draw_index(random, 4);
  for (std::size_t i = 0; i < count && !tests.empty(); ++i) {
    const std::size_t chosen = draw_index(random, tests.size());
    add_load_test(recipe, *tests[chosen], point);
    tests.erase(tests.begin() + static_cast<std::ptrdiff_t>(chosen));
  }
}

std::string draw_value(const WorkshopFact& fact, const std::string& cause, Random& random) {
  double at = draw_uniform(random);
  for (const std::string& value : fact.values) {
    at -= chance_of(fact, cause, value);
    if (at < 0.0) return value;
  }
  return fact.values.back();
}

std::string draw_cause(const Source& source, Random& random) {
  double at = draw_uniform(random);
  for (const Cause& cause : source.causes) {
    at -= cause.share;
    if (at < 0.0) return cause.id;
  }
  return source.causes.empty() ? std::string() : source.causes.back().id;
}

/// The answer that this vehicle gives to a fact, whenever it is asked.
Random fact_random(std::uint64_t seed, const std::string& key) {
  std::seed_seq sequence(key.begin(), key.end());
  std::vector<std::uint32_t> words(1);
  sequence.generate(words.begin(), words.end());
  return Random(seed * 1'000'003U + words.front());
}

void set_vehicle(Recipe& recipe, const Profile& profile, Random& random) {
  recipe.engine.lines.cylinders = profile.cylinders.value_or(4);
  recipe.engine.level_db = draw_between(random, -34.0, -26.0);
  recipe.engine.db_per_doubling = 4.0;
  recipe.background.level_db = draw_between(random, -48.0, -40.0);
  recipe.background.clatter_db = draw_between(random, -54.0, -46.0);
  recipe.background.db_per_doubling = 4.0;
  for (const ProbePoint& point : recipe.points) {
    recipe.engine.below_db[point.name] = draw_between(random, 0.0, 10.0);
    recipe.background.below_db[point.name] = draw_between(random, 0.0, 4.0);
  }
}

}  // namespace

BlindCase make_blind_case(const Profile& profile, std::span<const WorkshopFact> facts,
                          std::optional<std::size_t> culprit, std::uint64_t seed) {
  Random random(seed * 7'919U + 17U);
  BlindCase blind;
  Recipe& recipe = blind.recipe;
  recipe.name = fmt::format("blind-{}", seed);
  recipe.title = "A whine";
  recipe.profile = profile.name;
  recipe.seed = seed;
  recipe.sample_rate = kCaseRate;
  recipe.points = profile.points;
  set_vehicle(recipe, profile, random);
  const auto own_seed = [&](std::uint64_t prime, std::size_t place) {
    return seed * prime + place;
  };
  Random paths(own_seed(15'485'863U, 0));
  const Places all{names_of(profile.points),
                   chance(paths, kOddVehicle) ? 2.0 * kTransferSd : kTransferSd};
  const double level = draw_between(random, -34.0, -24.0);
  Source at_fault = culprit ? profile.sources[*culprit] : unlisted(random);
  std::optional<RecipeSource> howl = draw_howl(at_fault, all, level, random);
  for (std::size_t passed = 0; !howl && passed < profile.sources.size(); ++passed) {
    culprit = (culprit.value_or(0) + 1) % profile.sources.size();
    at_fault = profile.sources[*culprit];
    howl = draw_howl(at_fault, all, level, random);
  }
  if (!howl) throw std::invalid_argument("nothing in the profile can howl");
  blind.culprit = culprit;
  const auto draw_own = [&](RecipeSource& drawn, const Source& source, std::size_t place) {
    draw_blows(drawn, source, own_seed(104'729U, place));
    draw_stronger_multiple(drawn, own_seed(1'299'709U, place));
  };
  draw_own(*howl, at_fault, culprit.value_or(profile.sources.size()));
  recipe.sources.push_back(std::move(*howl));
  recipe.truth = {at_fault.name, at_fault.component, "at fault"};
  blind.cause = culprit ? draw_cause(at_fault, random) : std::string();
  for (std::size_t i = 0; i < profile.sources.size(); ++i)
    if (i != culprit && chance(random, 0.5)) {
      recipe.sources.push_back(
          draw_source(profile.sources[i], all, level - draw_between(random, 14.0, 34.0), random));
      draw_own(recipe.sources.back(), profile.sources[i], i);
    }
  plan_takes(recipe, draw_points(profile, recipe.sources.front(), random), random);
  draw_load_tests(recipe, random);
  const double known = draw_uniform(random);
  for (const WorkshopFact& fact : facts)
    if (chance(random, 0.5 * known)) {
      Random own = fact_random(seed, fact.key);
      blind.facts[fact.key] = draw_value(fact, blind.cause, own);
    }
  return blind;
}

BlindCase with_test_done(const BlindCase& blind, const Profile& profile,
                         std::span<const WorkshopFact> facts, const std::string& test) {
  BlindCase after = blind;
  Recipe& recipe = after.recipe;
  const std::string point = loudest_of(recipe.takes.front().points, recipe.culprit());
  const std::string name = test.substr(test.find(':') + 1);
  if (test.starts_with("load:")) {
    if (const LoadTest* load = find_load_test(name)) add_load_test(recipe, *load, point);
  } else if (test == "speed:sweep") {
    recipe.takes.push_back(sweep_at(point, SpeedWritten::log));
  } else if (test == "speed:gear") {
    constexpr double lower_gear = 1.4;
    RecipeTakes takes = hold_at(lower_gear * hold_rpm_of(recipe.takes.front()), {point});
    takes.road_speed_kmh = recipe.takes.front().road_speed_kmh;
    recipe.takes.push_back(std::move(takes));
  } else if (test == "speed:tacho") {
    recipe.takes.push_back(sweep_at(point, SpeedWritten::tacho));
  } else if (test.starts_with("point:")) {
    RecipeTakes takes = hold_at(hold_rpm_of(recipe.takes.front()), {name});
    takes.road_speed_kmh = recipe.takes.front().road_speed_kmh;
    recipe.takes.push_back(std::move(takes));
  } else if (const WorkshopFact* fact = find_fact(facts, name)) {
    Random own = fact_random(recipe.seed, fact->key);
    after.facts[fact->key] = draw_value(*fact, blind.cause, own);
  }
  static_cast<void>(profile);
  return after;
}

}  // namespace howl
