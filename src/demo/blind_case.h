#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "src/demo/recipe.h"
#include "src/profile/profile.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

/// A random vehicle of a profile with one source at fault, to try the whole reasoning on by the
/// hundred. Everything follows from the seed.
///
/// The vehicle: ratios, slips, counts and geometry are drawn from what the profile leaves open;
/// what it does not say at all, from what such parts have. Levels at probe points stray from the
/// profile's by 6 dB, in one vehicle of five by 12 dB. Of one howl in five that has an order, the
/// second or third harmonic is the strongest. The source at fault makes a howl, 80 Hz or more at
/// the hold, because that is what is complained of; a part that only rumbles is passed over for the
/// next in the profile. A resonance is recorded where it howls: a firing order lies on it. Each
/// healthy source is heard too in half of the vehicles, 14 to 34 dB weaker. Of the parts that can
/// strike, half do. One source in ten reacts to a load otherwise than the profile says.
///
/// What was recorded: 2 to 10 points at one hold, with that nearest to the culprit among them in
/// four of five; two more holds and a sweep at the point where it is loudest, each in four of five;
/// none to three load tests there; none to all of the workshop facts. The rest is missing.
struct BlindCase {
  Recipe recipe;
  std::optional<std::size_t> culprit;  ///< place in the profile's sources; none: not in the profile
  std::string cause;                   ///< its id; empty where it has none
  std::map<std::string, std::string> facts;  ///< entered: key -> value
};

/// `culprit`: the source at fault, if it can howl; none: something that the profile does not know.
BlindCase make_blind_case(const Profile& profile, std::span<const WorkshopFact> facts,
                          std::optional<std::size_t> culprit, std::uint64_t seed);

/// The same vehicle with one more test done: "load:KEY", "speed:sweep", "speed:gear",
/// "speed:tacho", "point:NAME" or "fact:KEY" (the value that the vehicle would show). Whatever else
/// is asked for leaves the case as it is.
BlindCase with_test_done(const BlindCase& blind, const Profile& profile,
                         std::span<const WorkshopFact> facts, const std::string& test);

}  // namespace howl
