#include "src/reasoning/workshop_facts.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <set>

#include "src/errors.h"
#include "src/profile/profile.h"
#include "src/reasoning/inference.h"
#include "tests/src/environment.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

namespace {

constexpr std::string_view level = R"([[fact]]
key = "level"
question = "Level"
how = "Look"
minutes = 5
values = ["low", "right"]
usually = { chances = { low = 0.2, right = 0.8 }, basis = "from memory" }
[[fact.if]]
causes = ["fluid low", "leak"]
chances = { low = 0.9, right = 0.1 }
basis = "common practice"
)";

std::string replaced(std::string_view text, std::string_view from, std::string_view to) {
  std::string out(text);
  const auto at = out.find(from);
  REQUIRE(at != std::string::npos);
  return out.replace(at, from.size(), to);
}

void check_refused(const std::string& toml, std::string_view place, std::string_view problem,
                   std::string_view remedy) {
  CAPTURE(toml);
  try {
    parse_workshop_facts(toml, "facts.toml");
    FAIL_CHECK("was accepted");
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::file);
    CHECK(error.where() == place);
    CHECK(error.problem() == problem);
    CHECK(error.remedy() == remedy);
  }
}

double weight_db(const WorkshopFact& fact, const std::string& cause, const std::string& value) {
  return likelihood_ratio_db(chance_of(fact, cause, value), fact.usually.of.at(value));
}

const WorkshopFact& built_in(std::string_view key) {
  static const std::vector<WorkshopFact> facts =
      parse_workshop_facts(built_in_workshop_facts(), "built in");
  const WorkshopFact* fact = find_fact(facts, key);
  REQUIRE(fact != nullptr);
  return *fact;
}

}  // namespace

TEST_CASE("a cause without bearing on a fact leaves it at its usual chances") {
  const auto facts = parse_workshop_facts(level, "facts.toml");
  REQUIRE(facts.size() == 1);
  CHECK(chance_of(facts[0], "leak", "low") == doctest::Approx(0.9));
  CHECK(chance_of(facts[0], "bearing worn", "low") == doctest::Approx(0.2));
  CHECK(facts[0].if_cause.size() == 2);
  CHECK(facts[0].values == std::vector<std::string>{"low", "right"});
}

TEST_CASE("chances that are rounded to three digits still sum to 1") {
  const auto facts = parse_workshop_facts(
      replaced(level, "low = 0.2, right = 0.8", "low = 0.333, right = 0.666"), "facts.toml");
  CHECK(facts[0].usually.of.at("low") + facts[0].usually.of.at("right") == doctest::Approx(1.0));
  CHECK(facts[0].usually.of.at("low") == doctest::Approx(1.0 / 3.0));
}

TEST_CASE("a fault in a facts file is told with line, key and remedy") {
  check_refused(replaced(level, "right = 0.8", "right = 0.7"), "facts.toml, line 7",
                "'fact.usually.chances' sums to 0.9", "make the chances sum to 1");
  check_refused(replaced(level, "right = 0.1", "right = 0.0"), "facts.toml, line 10",
                "'fact.if.chances' is 0", "keep it within 0.001 to 0.999");
  check_refused(replaced(level, "right = 0.1", "full = 0.1"), "facts.toml, line 10",
                "'fact.if.chances' names 'full', which is no value of 'level'", "use low, right");
  check_refused(replaced(level, ", right = 0.1", ""), "facts.toml, line 10",
                "'fact.if.chances' lacks the value 'right'", "give a number for every value");
  check_refused(replaced(level, "\"leak\"", "\"fluid low\""), "facts.toml, line 9",
                "'fact.if.causes' names 'fluid low' once more for the same fact",
                "give each cause one set of chances");
  check_refused(replaced(level, "[\"low\", \"right\"]", "[\"low\", \"low\"]"), "facts.toml, line 6",
                "'fact.values' names 'low' twice", "take one of them out");
  check_refused(replaced(level, "[\"low\", \"right\"]", "[\"low\"]"), "facts.toml, line 6",
                "'fact.values' holds fewer than two",
                "name all that can be found, the usual among it");
  check_refused(replaced(level, "\"level\"", "\"Fluid level\""), "facts.toml, line 2",
                "'fact.key' holds 'Fluid level'",
                "write it in lower-case letters, digits and hyphens");
  check_refused(replaced(level, "minutes = 5", "minutes = -5"), "facts.toml, line 5",
                "'fact.minutes' is -5", "keep it within 0.1 to 600");
  check_refused(std::string(level) + std::string(level), "facts.toml, line 13",
                "'fact.key' 'level' occurs twice", "give every fact its own key");
  check_refused("", "facts.toml, line 1", "'fact' is missing", "begin each fact with [[fact]]");
}

TEST_CASE("a misspelt or repeated key of a facts file is not passed over") {
  for (const auto& [from, to] :
       std::vector<std::pair<std::string, std::string>>{{"minutes", "mintues"},
                                                        {"basis", "baisis"},
                                                        {"causes", "cause"},
                                                        {"how =", "hwo ="},
                                                        {"[[fact.if]]", "[[fact.when]]"},
                                                        {"how = \"Look\"", "minutes = 4"}}) {
    CAPTURE(to);
    CHECK_THROWS_AS(parse_workshop_facts(replaced(level, from, to), "facts.toml"), Error);
  }
}

TEST_CASE("a remark about a value that cannot be found is refused") {
  check_refused(std::string(level) + "[fact.says]\nhigh = \"too much\"\n", "facts.toml, line 12",
                "'fact.says' names 'high', which is no value of 'level'", "use low, right");
  check_refused(std::string(level) + "[fact.means]\nhigh = \"too much\"\n", "facts.toml, line 12",
                "'fact.means' names 'high', which is no value of 'level'", "use low, right");
}

TEST_CASE("how a fact was found out decides what it is worth") {
  const std::string how = R"([[fact]]
key = "read"
question = "How"
how = "Say"
minutes = 1
values = ["well", "badly"]
usually = { chances = { well = 0.5, badly = 0.5 }, basis = "from memory" }
trust = { in = "level", by_value = { well = 1.0, badly = 0.25 }, not_entered = 0.5, basis = "b" }
)";
  const auto facts = parse_workshop_facts(std::string(level) + how, "facts.toml");
  CHECK(trust_in(facts, "level", {{"level", "low"}, {"read", "well"}}) == 1.0);
  CHECK(trust_in(facts, "level", {{"level", "low"}, {"read", "badly"}}) == 0.25);
  CHECK(trust_in(facts, "level", {{"level", "low"}}) == 0.5);
  CHECK(trust_in(facts, "level", {{"read", "no such value"}}) == 0.5);
  CHECK(trust_in(facts, "read", {}) == 1.0);
  check_refused(how, "facts.toml, line 8", "'fact.trust.in' names 'level', which is no fact here",
                "correct its spelling, or remove the table");
  check_refused(replaced(how, "in = \"level\"", "in = \"read\""), "facts.toml, line 8",
                "'fact.trust.in' names the fact itself", "name the fact whose weight it decides");
  check_refused(replaced(how, "badly = 0.25", "badly = 1.25"), "facts.toml, line 8",
                "'fact.trust.by_value' is 1.25", "keep it within 0 to 1");
}

TEST_CASE("every built-in fact gives a basis, and something to do") {
  for (const WorkshopFact& fact : parse_workshop_facts(built_in_workshop_facts(), "built in")) {
    CAPTURE(fact.key);
    CHECK_FALSE(fact.usually.basis.empty());
    CHECK_FALSE(fact.how.empty());
    CHECK((!fact.if_cause.empty() || fact.trust));
    for (const auto& [cause, chances] : fact.if_cause) CHECK_FALSE(chances.basis.empty());
  }
}

TEST_CASE("dark fluid alone condemns nothing; dark with a burnt smell means damage inside") {
  // Common practice. 'Nothing' is less than 1 dB here, a factor of 1.26.
  const WorkshopFact& look = built_in("fluid-look");
  for (const auto& [cause, chances] : look.if_cause) CHECK(weight_db(look, cause, "dark") < 1.0);
  CHECK(weight_db(look, "transmission damaged inside", "burnt") > 10.0);
  CHECK(weight_db(look, "transmission damaged inside", "burnt") >
        weight_db(look, "transmission fluid low", "burnt") + 5.0);
}

TEST_CASE("milky fluid means coolant, and says that flushing does not undo it") {
  // Common practice.
  const WorkshopFact& look = built_in("fluid-look");
  CHECK(weight_db(look, "transmission fluid contaminated by coolant", "milky") > 20.0);
  CHECK(look.says.at("milky").find("Flushing does not undo it") != std::string::npos);
}

TEST_CASE("low fluid speaks for the cheap cause above all, and says so") {
  // Common practice: low fluid from a leak is the best case.
  const WorkshopFact& low = built_in("fluid-level");
  for (const auto& [cause, chances] : low.if_cause)
    if (cause != "transmission fluid low")
      CHECK(weight_db(low, "transmission fluid low", "low") > weight_db(low, cause, "low") + 3.0);
  CHECK(low.says.at("low").find("cheap to mend") != std::string::npos);
}

TEST_CASE("a fine film at the magnet is normal, chips are not") {
  // Common practice.
  const WorkshopFact& pan = built_in("pan-debris");
  for (const auto& [cause, chances] : pan.if_cause) {
    CHECK(weight_db(pan, cause, "fine-film") < 0.0);
    CHECK(weight_db(pan, cause, "chips") > 7.0);
  }
}

TEST_CASE("no code does not clear a transmission, since a mechanical failure often sets none") {
  // Common practice: the absence of a code weighs less than 1.5 dB against any cause in it.
  const WorkshopFact& codes = built_in("fault-codes");
  for (const char* const cause : {"transmission damaged inside", "transmission pump worn"}) {
    CHECK(weight_db(codes, cause, "none") < 0.0);
    CHECK(weight_db(codes, cause, "none") > -1.5);
    CHECK(weight_db(codes, cause, "transmission") > 3.0);
  }
}

TEST_CASE(
    "a chirp that water stops is belt against pulley; without field, what whines is electrical") {
  // Makers' manuals: definitions of chirp and whine; electrical whine of generators.
  const WorkshopFact& water = built_in("belt-water");
  CHECK(weight_db(water, "pulley out of line", "stops") > 10.0);
  CHECK(weight_db(water, "idler bearing worn", "stops") == 0.0);
  const WorkshopFact& field = built_in("alternator-unplugged");
  CHECK(weight_db(field, "alternator diode defective", "stops") > 10.0);
  CHECK(weight_db(field, "alternator diode defective", "stays") < -10.0);
  CHECK(weight_db(field, "alternator bearing worn", "stays") == 0.0);
}

TEST_CASE("whatever is done near hot fluid, moving parts or below the vehicle has its caution") {
  const std::vector<std::pair<std::string, std::string>> hurts{
      {"fluid-level", "hot"},
      {"fluid-look", "hot"},
      {"leak", "stands"},
      {"pan-debris", "stands"},
      {"pan-debris", "burns"},
      {"line-pressure", "5 s"},
      {"belt-water", "belt"},
      {"pulleys-by-hand", "key"},
      {"steering-fluid", "hot"},
      {"charging-ripple", "sparks"},
      {"coolant-level", "scalds"},
      {"fan", "start"},
      {"wheels-by-hand", "stands"},
      {"axle-oil", "stands"},
      {"gearbox-oil", "stands"},
      {"boost-hoses", "hot"},
      {"pressed-part", "belts"},
      {"alternator-unplugged", "battery"},
      {"propeller-shaft", "stands"},
      {"alternator-fan", "key"},
      {"like-vehicle", "belts"},
      {"rail-pressure", "never loosen"},
      {"feed-pressure", "burns"},
      {"cold-start-rattle", "belts"},
      {"electric-pump-unplugged", "orange"},
      {"clutch-pedal", "chocked"},
      {"ac-cooling", "refrigerant"}};
  for (const auto& [key, word] : hurts) {
    CAPTURE(key);
    std::string cautions;
    for (const std::string& caution : built_in(key).cautions) cautions += caution + "\n";
    CHECK(cautions.find(word) != std::string::npos);
  }
}

TEST_CASE("a shop's own facts take the place of the built-in ones, faults and all") {
  const test::ScratchFolder scratch;
  const test::Variable home("HOME", (scratch.path() / "home").string());
  const test::Variable configuration("XDG_CONFIG_HOME", (scratch.path() / "config").string());
  CHECK(load_workshop_facts().size() > 20);
  const std::filesystem::path own = scratch.path() / "config/howlpoint/workshop-facts.toml";
  CHECK(shop_facts_file() == own);
  std::filesystem::create_directories(own.parent_path());
  std::ofstream(own) << level;
  CHECK(load_workshop_facts().size() == 1);
  std::ofstream(own) << "[[fact]]\n";
  CHECK_THROWS_AS(load_workshop_facts(), Error);
}

TEST_CASE("without a usable XDG_CONFIG_HOME the shop's facts lie below the home") {
  const test::ScratchFolder scratch;
  const test::Variable home("HOME", scratch.path().string());
  const test::Variable configuration("XDG_CONFIG_HOME", "not/absolute");
  CHECK(shop_facts_file() == scratch.path() / ".config/howlpoint/workshop-facts.toml");
}

namespace {

/// How far apart a fact holds two causes at most, dB; "" stands for one without bearing on it.
double apart_db(const WorkshopFact& fact, const std::string& one, const std::string& other) {
  double most = 0.0;
  for (const std::string& value : fact.values)
    most = std::max(most, std::abs(likelihood_ratio_db(chance_of(fact, one, value),
                                                       chance_of(fact, other, value))));
  return most;
}

/// What the best of all facts can tell.
double told_apart_db(const std::string& one, const std::string& other) {
  static const std::vector<WorkshopFact> facts =
      parse_workshop_facts(built_in_workshop_facts(), "built in");
  double most = 0.0;
  for (const WorkshopFact& fact : facts) most = std::max(most, apart_db(fact, one, other));
  return most;
}

constexpr double kWorthLooking = 3.0;  // dB: twice as likely, or half

}  // namespace

TEST_CASE("every cause in every profile can be found or cleared by something to look up") {
  for (const Profile& profile : list_profiles())
    for (const Source& source : profile.sources)
      for (const Cause& cause : source.causes) {
        CAPTURE(profile.name);
        CAPTURE(cause.id);
        CHECK(told_apart_db(cause.id, "") > kWorthLooking);
      }
}

// Sound is alike for all causes of one source, so only facts can tell them apart.
TEST_CASE("causes of one source are told apart by something to look up") {
  for (const Profile& profile : list_profiles())
    for (const Source& source : profile.sources)
      for (std::size_t i = 0; i < source.causes.size(); ++i)
        for (std::size_t j = i + 1; j < source.causes.size(); ++j) {
          CAPTURE(source.causes[i].id);
          CAPTURE(source.causes[j].id);
          CHECK(told_apart_db(source.causes[i].id, source.causes[j].id) > kWorthLooking);
        }
}

TEST_CASE("a whine that a like vehicle has too is normal, and says so before a part is replaced") {
  // Makers' manuals: electrical whine is normal in all generators.
  const WorkshopFact& like = built_in("like-vehicle");
  for (const char* const cause :
       {"alternator whine normal", "starter-generator whine normal", "diesel pump whine normal"})
    CHECK(weight_db(like, cause, "alike") > 7.0);
  for (const char* const cause :
       {"alternator diode defective", "diesel pump worn", "starter-generator bearing worn"})
    CHECK(weight_db(like, cause, "alike") == 0.0);
  CHECK(like.says.at("alike").find("before a part is replaced") != std::string::npos);
}
