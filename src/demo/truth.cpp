#include "src/demo/truth.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <utility>

#include "dsp/pitch_law.h"

namespace howl {

namespace {

using Json = nlohmann::ordered_json;

/// `value` to so many steps in one: 100 keeps two decimals.
double tidy(double value, double steps) { return std::round(value * steps) / steps; }

struct Pitch {
  Behaviour behaviour{Behaviour::undetermined};
  std::optional<Drive> drive{};
  std::optional<double> order{};  ///< without slip
  std::optional<double> frequency_hz{};
  std::optional<double> cycles_per_metre{};
};

Pitch pitch_of(const SourceKind& kind) {
  if (const auto* crank = std::get_if<CrankDrive>(&kind))
    return {.behaviour = Behaviour::speed_locked, .drive = Drive::direct, .order = crank->order};
  if (const auto* belt = std::get_if<BeltDrive>(&kind))
    return {.behaviour = Behaviour::speed_locked,
            .drive = Drive::belt,
            .order = belt->ratio * belt->per_turn};
  if (const auto* road = std::get_if<RoadDrive>(&kind))
    return {.behaviour = Behaviour::road_locked, .cycles_per_metre = road->cycles_per_metre};
  if (const auto* fixed = std::get_if<FixedPitch>(&kind))
    return {.behaviour = Behaviour::fixed_pitch, .frequency_hz = fixed->frequency_hz};
  if (const auto* bracket = std::get_if<Resonance>(&kind))
    return {.behaviour = Behaviour::fixed_pitch, .frequency_hz = bracket->frequency_hz};
  if (const auto* free = std::get_if<FreePitch>(&kind))
    return {.behaviour = Behaviour::unlocked, .frequency_hz = free->frequency_hz};
  return {};
}

template <class Value>
Json or_null(const std::optional<Value>& value) {
  return value ? Json(*value) : Json(nullptr);
}

Json pitch_json(const SourceKind& kind) {
  const Pitch pitch = pitch_of(kind);
  Json out;
  out["behaviour"] = behaviour_name(pitch.behaviour);
  out["drive"] = pitch.drive ? Json(drive_name(*pitch.drive)) : Json(nullptr);
  out["order_without_slip"] = or_null(pitch.order);
  out["frequency_hz"] = or_null(pitch.frequency_hz);
  out["cycles_per_metre"] = or_null(pitch.cycles_per_metre);
  return out;
}

std::optional<Interval> slip_of_all(const std::vector<TakeTruth>& takes) {
  std::optional<Interval> all;
  for (const TakeTruth& take : takes)
    if (take.slip)
      all = all ? Interval{std::min(all->low, take.slip->low), std::max(all->high, take.slip->high)}
                : *take.slip;
  return all;
}

Json interval_json(const std::optional<Interval>& range, double steps) {
  return range ? Json{tidy(range->low, steps), tidy(range->high, steps)} : Json(nullptr);
}

std::optional<Interval> orders_with_slip(const Recipe& recipe,
                                         const std::optional<Interval>& slip) {
  const auto* belt = std::get_if<BeltDrive>(&recipe.culprit().kind);
  if (belt == nullptr || !slip) return std::nullopt;
  const double order = belt->ratio * belt->per_turn;
  return Interval{order * (1.0 - slip->high), order * (1.0 - slip->low)};
}

std::string loudest_point(const BelowByPoint& below) {
  return std::ranges::min_element(below, {}, [](const auto& entry) { return entry.second; })->first;
}

Json differences_json(const BelowByPoint& below) {
  const double loudest = below.at(loudest_point(below));
  Json out = Json::object();
  for (const auto& [point, db] : below) out[point] = loudest - db;
  return out;
}

Json faults_json(const RecipeTakes& plan) {
  Json out = Json::array();
  if (plan.dropout) out.push_back("dropout");
  if (plan.gain_db > 0.0) out.push_back("clipped");
  return out;
}

Json take_json(const Recipe& recipe, const TakeTruth& take) {
  return {{"id", take.id},
          {"point", take.plan.point},
          {"repeat", take.plan.repeat},
          {"rpm_min", tidy(take.rpm_min, 1e2)},
          {"rpm_mean", tidy(take.rpm_mean, 1e2)},
          {"rpm_max", tidy(take.rpm_max, 1e2)},
          {"slip", interval_json(take.slip, 1e5)},
          {"hand_pressure_db", tidy(take.hand_pressure_db, 1e2)},
          {"background", recipe.takes[take.plan.entry].background},
          {"howl_db", recipe.takes[take.plan.entry].howl_db},
          {"recording_faults", faults_json(recipe.takes[take.plan.entry])}};
}

Json others_json(const Recipe& recipe) {
  Json out = Json::array();
  for (const RecipeSource& source : recipe.sources) {
    if (source.name == recipe.truth.source || std::holds_alternative<NoiseBand>(source.kind))
      continue;
    Json entry{{"source", source.name}};
    entry.update(pitch_json(source.kind));
    entry["loudest_point"] = loudest_point(source.below_db);
    out.push_back(entry);
  }
  return out;
}

}  // namespace

TakeTruth truth_of(const DemoTake& take, const PlannedTake& plan) {
  const Seconds end(static_cast<double>(take.samples.size()) / take.sample_rate);
  const SpeedCurve::Range range = take.truth.range(Seconds(0.0), end);
  const double revolutions =
      take.truth.revolutions_at(end) - take.truth.revolutions_at(Seconds(0.0));
  return {.id = {},
          .plan = plan,
          .rpm_min = range.low.value,
          .rpm_mean = 60.0 * revolutions / end.value,
          .rpm_max = range.high.value,
          .hand_pressure_db = take.hand_pressure_db,
          .slip = take.slip};
}

std::string truth_json(const Recipe& recipe, const std::vector<TakeTruth>& takes) {
  const RecipeSource& culprit = recipe.culprit();
  const std::optional<Interval> slip = slip_of_all(takes);
  Json out;
  out["schema"] = "howlpoint.truth/1";
  out["recipe"] = recipe.name;
  out["seed"] = recipe.seed;
  out["component"] = recipe.truth.component;
  out["fault"] = recipe.truth.fault;
  out["source"] = culprit.name;
  out["repaired"] = recipe.truth.repaired;
  out["suspect"] = recipe.truth.suspect.empty() ? Json(nullptr) : Json(recipe.truth.suspect);
  out.update(pitch_json(culprit.kind));
  out["slip"] = interval_json(slip, 1e5);
  out["order_with_slip"] = interval_json(orders_with_slip(recipe, slip), 1e4);
  out["loudest_point"] = loudest_point(culprit.below_db);
  out["level_difference_db"] = differences_json(culprit.below_db);
  out["engine"] = {{"cylinders", recipe.engine.lines.cylinders},
                   {"firing_order", 0.5 * recipe.engine.lines.cylinders}};
  out["other_tones"] = others_json(recipe);
  out["takes"] = Json::array();
  for (const TakeTruth& take : takes) out["takes"].push_back(take_json(recipe, take));
  return out.dump(2) + "\n";
}

}  // namespace howl
