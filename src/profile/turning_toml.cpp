#include "src/profile/turning_toml.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numbers>
#include <string_view>
#include <utility>
#include <vector>

#include "dsp/bearing.h"
#include "src/files/toml_choice.h"

namespace howl {

namespace {

constexpr Interval kCircumference{1.0, 5.0};  // m
constexpr Interval kRatio{0.01, 30.0};
constexpr Interval kTolerance{0.0, 0.5};
constexpr Interval kDiameter{10.0, 600.0};      // mm
constexpr Interval kBeltLength{300.0, 5000.0};  // mm
constexpr Interval kSlip{0.0, 0.9};
constexpr Interval kTurnsPerMetre{0.01, 100.0};
constexpr Interval kHertz{1.0, 20000.0};
constexpr double kLineDifferential = 2.0;  // mm; ISO 9981:2020, 5.4, PK profile

constexpr std::array<std::pair<std::string_view, TurnedBy>, 5> kTurnedBy{
    {{"crank", TurnedBy::crank},
     {"belt", TurnedBy::belt},
     {"road", TurnedBy::road},
     {"free", TurnedBy::free},
     {"ringing", TurnedBy::ringing}}};
constexpr std::array<std::pair<std::string_view, TurningFacts::Shaft>, 2> kShafts{
    {{"wheel", TurningFacts::Shaft::wheel}, {"output", TurningFacts::Shaft::output}}};

/// Which drives a key says something of.
struct Belongs {
  std::string_view key;
  std::vector<TurnedBy> drives;
};

const std::vector<Belongs>& belongings() {
  static const std::vector<Belongs> list{{"ratio", {TurnedBy::crank, TurnedBy::belt}},
                                         {"ratio_tolerance", {TurnedBy::crank, TurnedBy::belt}},
                                         {"gears", {TurnedBy::crank}},
                                         {"pulleys", {TurnedBy::belt}},
                                         {"slip", {TurnedBy::belt}},
                                         {"shaft", {TurnedBy::road}},
                                         {"turns_per_metre", {TurnedBy::road}},
                                         {"hertz", {TurnedBy::free, TurnedBy::ringing}}};
  return list;
}

void require_keys_of(const TomlReader& in, TurnedBy drive) {
  for (const auto& [key, drives] : belongings())
    if (in.has(key) && std::ranges::find(drives, drive) == drives.end())
      in.fail(
          key,
          fmt::format("says nothing of a source with drive = \"{}\"", word_of(drive, kTurnedBy)),
          "remove it, or correct drive or kind");
}

void require_one_of(const TomlReader& in, std::string_view one, std::string_view other) {
  if (in.has(one) && in.has(other))
    in.fail(other, fmt::format("and '{}' are both given", one), "keep one of them");
}

/// Turns of the belt itself: it moves by the circumference of the pitch line at each crank turn.
Interval belt_turns(const Interval& crank, const Interval& length) {
  const auto circumference = [](double diameter) {
    return std::numbers::pi * (diameter + 2.0 * kLineDifferential);
  };
  return {circumference(crank.low) / length.high, circumference(crank.high) / length.low};
}

Interval ratio_of_pulleys(TomlReader in) {
  const Interval crank = in.span("crank", kDiameter);
  require_one_of(in, "driven", "belt_length");
  if (in.has("belt_length")) {
    const Interval turns = belt_turns(crank, in.span("belt_length", kBeltLength));
    in.finish();
    return turns;
  }
  const Interval driven = in.span("driven", kDiameter);
  in.finish();
  return {pulley_ratio(crank.low, driven.high, kLineDifferential),
          pulley_ratio(crank.high, driven.low, kLineDifferential)};
}

/// Of a train of gears or sprockets, from the crankshaft on, one pair a stage.
Interval ratio_of_gears(std::vector<TomlReader> stages) {
  constexpr Interval teeth{1.0, 400.0};
  Interval ratio{1.0, 1.0};
  for (TomlReader& stage : stages) {
    const Interval driving = stage.span("driving", teeth);
    const Interval driven = stage.span("driven", teeth);
    stage.finish();
    ratio = {ratio.low * driving.low / driven.high, ratio.high * driving.high / driven.low};
  }
  return ratio;
}

std::optional<Interval> read_ratio(TomlReader& in) {
  require_one_of(in, "ratio", "pulleys");
  require_one_of(in, "ratio", "gears");
  if (in.has("gears")) {
    if (in.has("ratio_tolerance"))
      in.fail("ratio_tolerance", "goes with ratio, not with gears",
              "remove it, and give the teeth as ranges");
    return ratio_of_gears(in.tables("gears"));
  }
  if (in.has("pulleys")) {
    if (in.has("ratio_tolerance"))
      in.fail("ratio_tolerance", "goes with ratio, not with pulleys",
              "remove it, and give the diameters as ranges");
    return ratio_of_pulleys(in.table("pulleys"));
  }
  const std::optional<Interval> ratio = in.span_if("ratio", kRatio);
  const std::optional<double> tolerance = in.number_if("ratio_tolerance", kTolerance);
  if (!tolerance) return ratio;
  if (!ratio)
    in.fail("ratio_tolerance", "stands without a ratio", "add ratio, or remove the tolerance");
  return Interval{ratio->low * (1.0 - *tolerance), ratio->high * (1.0 + *tolerance)};
}

template <class Value>
void overwrite(std::optional<Value>& known, std::optional<Value> said) {
  if (said) known = std::move(said);
}

Interval teeth_ratio(TomlReader in) {
  constexpr Interval teeth{1.0, 200.0};
  const Interval ring = in.span("ring", teeth);
  const Interval pinion = in.span("pinion", teeth);
  in.finish();
  return {ring.low / pinion.high, ring.high / pinion.low};
}

Interval turns_per_metre(const TurningFacts& known, const Wheels& wheels) {
  if (known.turns_per_metre) return *known.turns_per_metre;
  const bool is_wheel =
      known.shaft.value_or(TurningFacts::Shaft::wheel) == TurningFacts::Shaft::wheel;
  const Interval turns = is_wheel ? Interval{1.0, 1.0} : wheels.final_drive;
  return {turns.low / wheels.circumference.high, turns.high / wheels.circumference.low};
}

}  // namespace

Wheels read_wheels(TomlReader in) {
  Wheels wheels;
  wheels.circumference = in.span_if("circumference", kCircumference).value_or(wheels.circumference);
  if (in.holds_table("final_drive"))
    wheels.final_drive = teeth_ratio(in.table("final_drive"));
  else
    wheels.final_drive = in.span_if("final_drive", kRatio).value_or(wheels.final_drive);
  in.finish();
  return wheels;
}

void read_turning(TomlReader& in, TurningFacts& known) {
  if (in.has("drive")) {
    const TurnedBy drive = choice(in, "drive", kTurnedBy);
    if (known.drive != drive) known = {.drive = drive};
  }
  if (known.drive) require_keys_of(in, *known.drive);
  require_one_of(in, "shaft", "turns_per_metre");
  overwrite(known.ratio, read_ratio(in));
  overwrite(known.slip, in.span_if("slip", kSlip));
  if (in.has("shaft")) known.shaft = choice(in, "shaft", kShafts);
  overwrite(known.turns_per_metre, in.span_if("turns_per_metre", kTurnsPerMetre));
  overwrite(known.hertz, in.span_if("hertz", kHertz));
}

Turning turning_of(const TomlReader& in, const TurningFacts& known, const Wheels& wheels) {
  if (!known.drive)
    in.fail("drive", "is missing",
            "add drive = \"crank\", \"belt\", \"road\", \"free\" or \"ringing\"");
  switch (*known.drive) {
    case TurnedBy::crank:
      return CrankTurning{known.ratio.value_or(Interval{1.0, 1.0})};
    case TurnedBy::belt:
      if (!known.ratio)
        in.fail("ratio", "is missing",
                "add ratio = …, a range [low, high], or pulleys = { crank = …, driven = … }");
      return BeltTurning{*known.ratio, known.slip.value_or(BeltTurning{}.slip)};
    case TurnedBy::road:
      return RoadTurning{turns_per_metre(known, wheels)};
    case TurnedBy::free:
      return FreeTurning{known.hertz};
    case TurnedBy::ringing:
      break;
  }
  return Ringing{known.hertz};
}

}  // namespace howl
