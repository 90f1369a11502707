#include "src/profile/source_toml.h"

#include <doctest/doctest.h>

#include <set>
#include <string>

#include "src/errors.h"
#include "src/profile/load_tests.h"
#include "tests/src/profile/read_source_text.h"

using namespace howl;

namespace {

Error source_refusal(const std::string& keys, const std::string& kind = "steering pump vanes") {
  try {
    test::source_of(keys, kind);
  } catch (const Error& error) {
    return error;
  }
  return {Fault::command, "", "accepted", ""};
}

void check_refused(const std::string& keys, const std::string& problem, int line = 2) {
  CAPTURE(keys);
  const Error error = source_refusal(keys);
  CHECK(error.fault() == Fault::file);
  CHECK(error.where() == "my.toml, line " + std::to_string(line));
  CHECK(error.problem() == problem);
  CHECK_FALSE(error.remedy().empty());
}

}  // namespace

TEST_CASE("every kind of source has causes, known reactions and chances") {
  CHECK(source_kinds().size() >= 30);
  for (const auto& [name, draft] : source_kinds()) {
    CAPTURE(name);
    const Source& kind = draft.source;
    CHECK(kind.kind == name);
    CHECK_FALSE(kind.component.empty());
    CHECK_FALSE(kind.causes.empty());
    double sum = 0.0;
    for (const Cause& cause : kind.causes) {
      sum += cause.share;
      CHECK(cause.hours > 0.0);
      CHECK_FALSE(cause.repair.empty());
    }
    CHECK(sum == doctest::Approx(1.0).epsilon(0.011));
    for (const auto& [test, reaction] : kind.reacts) CHECK(find_load_test(test) != nullptr);
    if (draft.turning.drive == TurnedBy::belt) CHECK(kind.reacts.at("belt") == Reaction::stops);
    if (draft.turning.drive == TurnedBy::road) CHECK(kind.reacts.at("standing") == Reaction::stops);
  }
}

TEST_CASE("one cause id means one repair at one price, wherever it occurs") {
  std::map<std::string, bool> irreversible;
  for (const auto& [name, draft] : source_kinds())
    for (const Cause& cause : draft.source.causes) {
      CAPTURE(cause.id);
      const auto [known, is_new] = irreversible.emplace(cause.id, cause.irreversible);
      CHECK(known->second == cause.irreversible);
    }
  for (const char* id :
       {"transmission fluid low", "transmission filter blocked", "transmission pump worn",
        "transmission fluid wrong or foaming", "transmission damaged inside",
        "transmission fluid contaminated by coolant", "steering fluid low", "steering pump worn"})
    CHECK(irreversible.contains(id));
  CHECK(irreversible.at("transmission pump worn"));
  CHECK_FALSE(irreversible.at("transmission fluid low"));
}

TEST_CASE("kinds react as makers' manuals and common practice say") {
  const auto reaction = [](const char* kind, const char* test) {
    return source_kinds().find(kind)->second.source.reacts.at(test);
  };
  // Makers' manuals: an alternator's whine varies with electrical load, its bearings' noise does
  // not.
  CHECK(reaction("alternator ripple", "electrical") == Reaction::louder);
  CHECK(reaction("alternator bearing", "electrical") == Reaction::same);
  // Makers' manuals: a wheel bearing's pitch follows road speed, in neutral too; what remains when
  // standing in neutral is engine or transmission.
  CHECK(reaction("wheel bearing", "coast") == Reaction::same);
  CHECK(reaction("wheel bearing", "standing") == Reaction::stops);
  CHECK(reaction("final drive gears", "coast") == Reaction::quieter);
  CHECK(reaction("transmission pump", "standing") == Reaction::same);
  // A maker's self-study text: the pump turns with the converter's hub, not with the belt.
  CHECK(reaction("transmission pump", "belt") == Reaction::same);
  // Common practice: a compressor's pistons are silent with its clutch off; steering loads its
  // pump.
  CHECK(reaction("ac compressor pistons", "ac") == Reaction::starts);
  CHECK(reaction("steering pump vanes", "steering") == Reaction::louder);
  CHECK(reaction("gearbox bearing", "clutch") == Reaction::stops);
  CHECK(reaction("clutch release bearing", "clutch") == Reaction::starts);
}

TEST_CASE("a source inherits its kind and overrides it key by key") {
  const Source pump = test::source_of(
      "name = \"pump\"\nratio = 1.2\nreacts = { ac = \"louder\" }\nhow_often = 0.5\n"
      "heard_at = { near = 0, far = 12 }",
      "steering pump vanes");
  CHECK(pump.name == "pump");
  CHECK(pump.component == "steering pump");
  const auto& turning = std::get<BeltTurning>(pump.turning);
  CHECK(turning.ratio == Interval{1.2, 1.2});
  CHECK(turning.slip == Interval{0.0, 0.025});
  CHECK(pump.makes.size() == 5);
  CHECK(pump.reacts.at("ac") == Reaction::louder);
  CHECK(pump.reacts.at("steering") == Reaction::louder);
  CHECK(pump.how_often == 0.5);
  CHECK(pump.below_db.at("far") == 12.0);
  CHECK(pump.causes.size() == 3);
}

TEST_CASE("unknown is the same as leaving a key out") {
  const Source pump = test::source_of(
      "ratio = \"unknown\"\nslip = \"unknown\"\nmakes = \"unknown\"", "steering pump vanes");
  CHECK(std::get<BeltTurning>(pump.turning).ratio == Interval{0.95, 1.6});
  CHECK(pump.makes.size() == 5);
  CHECK(test::source_of("makes = []", "steering pump vanes").makes.empty());
}

TEST_CASE("another drive than the kind's forgets how fast the kind turned") {
  CHECK(std::get<CrankTurning>(test::source_of("drive = \"crank\"", "water pump bearing").turning)
            .ratio == Interval{1.0, 1.0});
  CHECK(source_refusal("drive = \"belt\"", "fuel pump").problem() == "'source.ratio' is missing");
}

TEST_CASE("causes of a source replace those of its kind") {
  const Source pump = test::source_of(
      "cause = [{ id = \"a\", share = 1, repair = \"b\", hours = 2, irreversible = true }]",
      "steering pump vanes");
  REQUIRE(pump.causes.size() == 1);
  CHECK(pump.causes[0].id == "a");
  CHECK(pump.causes[0].irreversible);
}

TEST_CASE("faults in a source name line, key and remedy") {
  check_refused("vanes = 10", "'source.vanes' is not a key that is known here");
  check_refused("ratio = 1.2\npulleys = { crank = 150, driven = 120 }",
                "'source.pulleys' and 'ratio' are both given", 3);
  check_refused("ratio = [1.3, 1.2]", "'source.ratio' runs from 1.3 down to 1.2");
  check_refused("ratio = [1.1, 1.2, 1.3]", "'source.ratio' must be a number or a range");
  check_refused("ratio = \"1.2\"", "'source.ratio' must be a number");
  check_refused("ratio = -1", "'source.ratio' is -1");
  check_refused("ratio_tolerance = 0.02", "'source.ratio_tolerance' stands without a ratio");
  check_refused("pulleys = { crank = 150 }", "'source.pulleys.driven' is missing");
  check_refused("hertz = 100", "'source.hertz' says nothing of a source with drive = \"belt\"");
  check_refused("shaft = \"wheel\"",
                "'source.shaft' says nothing of a source with drive = \"belt\"");
  check_refused("drive = \"chain\"", "'source.drive' is \"chain\"");
  check_refused("reacts = { lamps = \"louder\" }", "'source.reacts.lamps' is not a load test");
  check_refused("reacts = { ac = \"loud\" }", "'source.reacts.ac' is \"loud\"");
  check_refused("heard_at = { pan = 0 }",
                "'source.heard_at' names 'pan', which is no probe point of the profile");
  check_refused("heard_at = { near = 3, far = 9 }", "'source.heard_at' begins at 3 dB");
  check_refused("heard_at = { near = -3 }", "'source.heard_at' is -3");
  check_refused("strikes = 1", "'source.strikes' must be true or false");
  check_refused("cause = [{ id = \"a\", share = 0.5, repair = \"b\", hours = 2 }]",
                "'source.cause' has shares that sum to 0.5");
  check_refused(
      "cause = [{ id = \"a\", share = 0.5, repair = \"b\", hours = 2 }, "
      "{ id = \"a\", share = 0.5, repair = \"b\", hours = 2 }]",
      "'source.cause.id' 'a' occurs twice");
  check_refused("cause = [{ id = \"a\", share = 1, repair = \"b\", hours = 0 }]",
                "'source.cause.hours' is 0");
}

TEST_CASE("faults in what a source makes name line, key and remedy") {
  check_refused("makes = [{ what = \"vanes\" }]", "'source.makes.count' is missing");
  check_refused("makes = [{ count = 10 }]", "'source.makes.what' is missing");
  check_refused("makes = [{ what = \"v\", count = 9.5 }]", "'source.makes.count' must be whole");
  check_refused("makes = [{ what = \"v\", count = 9, poles = 12 }]",
                "'source.makes.poles' does not go with the other one that is given");
  check_refused("makes = [{ poles = 13 }]", "'source.makes.poles' is odd");
  check_refused("makes = [{ what = \"v\", count = 9, share = 0.4 }, { what = \"w\", count = 8 }]",
                "'source.makes' gives a share of some only");
  check_refused("makes = [{ what = \"v\", count = 9, share = 0.4 }]",
                "'source.makes' has shares that sum to 0.4");
  check_refused("makes = [{ bearing = { elements = 8, ball = 7 } }]",
                "'source.makes.bearing.pitch' is missing");
  check_refused("makes = [{ bearing = { elements = 8, ball = 30, pitch = 28 } }]",
                "'source.makes.bearing.ball' is as large as the pitch circle, or larger");
  check_refused("makes = [{ bearing = \"6203\" }]",
                "'source.makes.bearing' is neither a table nor \"unknown\"");
  check_refused(
      "makes = [{ planetary = { sun = 80, ring = 70, held = \"ring\", turning = \"sun\" } }]",
      "'source.makes.planetary.sun' has as many teeth as the ring, or more");
  check_refused(
      "makes = [{ planetary = { sun = 30, ring = 70, held = \"ring\", turning = \"ring\" } }]",
      "'source.makes.planetary.turning' is the member that is held");
  check_refused(
      "makes = [{ planetary = { sun = [30, 31], ring = 70, held = \"ring\", "
      "turning = \"sun\", planets = 3 } }]",
      "'source.makes.planetary.planets' says nothing unless the ring is held and all "
      "teeth are known");
  check_refused("makes = 10", "'source.makes' must be a list of tables");
}

TEST_CASE("an unknown kind is refused with the known ones") {
  const Error error = source_refusal("", "flux capacitor");
  CHECK(error.problem() == "'source.kind' 'flux capacitor' is not known");
  CHECK(error.remedy().find("transmission pump") != std::string::npos);
}
