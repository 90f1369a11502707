#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "src/demo/recipe.h"
#include "src/profile/expected_lines.h"
#include "src/profile/profile.h"

using namespace howl;

namespace {

using Unit = ExpectedLine::Unit;

/// Where the source of a recipe howls in truth; slip at both its bounds.
struct TrueLine {
  Unit unit{};
  Interval at;
};

struct LineOf {
  TrueLine operator()(const CrankDrive& d) const { return {Unit::order, {d.order, d.order}}; }
  TrueLine operator()(const BeltDrive& d) const {
    const double order = d.ratio * d.per_turn;
    return {Unit::order, {order * (1.0 - d.slip.bounds.high), order * (1.0 - d.slip.bounds.low)}};
  }
  TrueLine operator()(const RoadDrive& d) const {
    return {Unit::cycles_per_metre, {d.cycles_per_metre, d.cycles_per_metre}};
  }
  TrueLine operator()(const FixedPitch& d) const { return tone(d.frequency_hz); }
  TrueLine operator()(const FreePitch& d) const { return tone(d.frequency_hz); }
  TrueLine operator()(const Resonance& d) const { return tone(d.frequency_hz); }
  TrueLine operator()(const NoiseBand& d) const { return tone(d.frequency_hz); }

  static TrueLine tone(double hertz) { return {Unit::hertz, {hertz, hertz}}; }
};

bool holds(const Source& source, const TrueLine& truth) {
  const auto lines = expected_lines(source);
  return std::ranges::any_of(lines, [&](const ExpectedLine& line) {
    return line.unit == truth.unit && line.at.contains(truth.at.low) &&
           line.at.contains(truth.at.high);
  });
}

}  // namespace

TEST_CASE("what is at fault in every demo lies within its profile's spread") {
  for (const Recipe& recipe : embedded_recipes()) {
    CAPTURE(recipe.name);
    const Profile profile = load_profile(recipe.profile);
    const TrueLine truth = std::visit(LineOf{}, recipe.culprit().kind);
    // A resonance may ring at any pitch: its profile names none.
    const bool rings = std::holds_alternative<Resonance>(recipe.culprit().kind);
    const auto is_culprit = [&](const Source& source) {
      return rings ? std::holds_alternative<Ringing>(source.turning)
                   : source.component == recipe.truth.component && holds(source, truth);
    };
    CHECK(std::ranges::any_of(profile.sources, is_culprit));
    // What the truth calls it is one of those.
    const auto named = std::ranges::find(profile.sources, recipe.truth.suspect, &Source::name);
    REQUIRE(named != profile.sources.end());
    CHECK(is_culprit(*named));
  }
}

TEST_CASE("every point that hears a demo's fault is a point of its profile") {
  for (const Recipe& recipe : embedded_recipes()) {
    CAPTURE(recipe.name);
    const Profile profile = load_profile(recipe.profile);
    for (const ProbePoint& point : recipe.points) {
      CAPTURE(point.name);
      CHECK(std::ranges::find(profile.points, point.name, &ProbePoint::name) !=
            profile.points.end());
    }
  }
}
