#include "src/reasoning/reason.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <string>
#include <vector>

#include "src/reasoning/howl.h"
#include "src/reasoning/inference.h"
#include "src/reasoning/source_likelihood.h"
#include "src/reasoning/workshop_facts.h"
#include "tests/src/reasoning/reasoning_scene.h"

using namespace howl;
using namespace howl::test;

namespace {

const std::array<double, 5> kCrankLocked{1e-9, 0.6, 0.4, 0.0, 1e-6};

Profile two_pumps() {
  Source near = crank_source("transmission pump", 10.0);
  near.below_db = {{"pan", 0.0}, {"front", 20.0}};
  Source far = crank_source("oil pump", 7.0);
  far.below_db = {{"pan", 25.0}, {"front", 0.0}};
  return profile_of({near, far});
}

Analysis ten_at_the_pan() {
  Analysis analysis = analysis_of(tone_at_order(10.0, 0.002, kCrankLocked));
  analysis.tones.front().level_db = -30.0;
  analysis.ranking = {ranked("pan", -30.0, 0.98), ranked("front", -45.0, 0.02)};
  return analysis;
}

ToneResult seven_at_the_front(double level_db) {
  ToneResult tone = tone_at_order(7.0, 0.002, kCrankLocked);
  tone.id = "tone2";
  tone.level_db = level_db;
  tone.track = {{1.0, 1800.0, 210.0, 0.1, "t02", level_db}};
  return tone;
}

Analysis with_other_howl(double level_db) {
  Analysis analysis = ten_at_the_pan();
  TakeResult pan;
  pan.id = "t01";
  pan.point = "pan";
  TakeResult front;
  front.id = "t02";
  front.point = "front";
  analysis.takes = {pan, front};
  analysis.tones.push_back(seven_at_the_front(level_db));
  return analysis;
}

}  // namespace

// I. J. Good (1950): weights of evidence add up to what the odds have risen by.
TEST_CASE("reasoning: what a suspect's chance rests on adds up to it") {
  for (const double other_db : {-80.0, -35.0, -10.0}) {
    const Verdict verdict = judged(with_other_howl(other_db), two_pumps());
    REQUIRE(verdict.suspects.size() == 3);
    for (const Suspect& suspect : verdict.suspects) {
      double sum = 0.0;
      for (const EvidenceItem& item : suspect.evidence) sum += item.weight_db;
      CAPTURE(suspect.source);
      CHECK(probability_of_log_odds(sum) == doctest::Approx(suspect.probability).epsilon(1e-6));
    }
  }
}

TEST_CASE("reasoning: chances of all suspects and of the rest are one together") {
  const Verdict verdict = judged(ten_at_the_pan(), two_pumps());
  double sum = 0.0;
  for (const Suspect& suspect : verdict.suspects) sum += suspect.probability;
  CHECK(sum == doctest::Approx(1.0));
  CHECK(verdict.suspects.front().source == "transmission pump");
  CHECK(verdict.suspects.front().probability > 0.8);
}

// Whatever fits the howl that was judged, it need not be the one complained of.
TEST_CASE("reasoning: one howl alone never makes a suspect certain") {
  const Verdict verdict = judged(ten_at_the_pan(), two_pumps());
  CHECK(verdict.suspects.front().probability < 0.98);
}

// Both pumps fit a howl of their own; the fault's is the one that is stronger at its pump.
TEST_CASE("reasoning: a second howl, stronger at its source, takes the certainty away") {
  const Verdict faint = judged(with_other_howl(-60.0), two_pumps());
  const Verdict alike = judged(with_other_howl(-30.0), two_pumps());
  const Verdict strong = judged(with_other_howl(-10.0), two_pumps());
  CHECK(faint.suspects.front().source == "transmission pump");
  // Of howls of one strength, it is the one that stands out most in 12 of 13 cases.
  CHECK(chance_of_suspect(alike, "transmission pump") < 12.0 / 13.0);
  CHECK(chance_of_suspect(alike, "oil pump") > 0.05);
  CHECK(strong.suspects.front().source == "oil pump");
  CHECK(strong.state != Inquiry::enough);
  REQUIRE(!strong.contradictions.empty());
  CHECK(strong.contradictions.back().find("Another howl is stronger") != std::string::npos);
  CHECK(faint.contradictions.empty());
}

TEST_CASE("reasoning: a firing order that swells at one pitch tells that pitch and no order") {
  Analysis analysis = with_other_howl(-40.0);
  analysis.tones.front().swells_at_hz = 300.0;
  const std::optional<Howl> howl = observed_howl(analysis);
  REQUIRE(howl);
  CHECK(howl->swells);
  CHECK_FALSE(howl->order);
  CHECK_FALSE(howl->pitch_settled);
  CHECK(howl->hertz->value == doctest::Approx(300.0));
  CHECK(judged(analysis, two_pumps()).state != Inquiry::enough);
  // A second order that swells at that pitch is no rival, but says that the pitch stays.
  analysis.tones.back().swells_at_hz = 306.0;
  const std::optional<Howl> stays = observed_howl(analysis);
  CHECK(stays->laws.fixed > 10.0 * stays->laws.locked);
  CHECK(may_be_harmonic_of(prominent_howls(analysis).back(), *stays));
  analysis.tones.back().swells_at_hz = 350.0;
  CHECK(observed_howl(analysis)->laws.fixed == howl->laws.fixed);
}

// Common practice: cylinders never fire quite alike, which gives a four-stroke engine lines at the
// half orders too, as strong as the difference between them.
TEST_CASE("reasoning: a half order between the whole ones is no howl of its own") {
  const auto also_at = [](double order, double log_sigma) {
    Analysis analysis = with_other_howl(-80.0);
    ToneResult other = tone_at_order(order, log_sigma, {1e-9, 0.6, 0.4, 0.0, 1e-6});
    other.id = "tone2";
    other.level_db = -20.0;
    other.tone_to_noise_db = analysis.tones.front().tone_to_noise_db;
    analysis.tones.back() = other;
    return prominent_howls(analysis).size();
  };
  CHECK(also_at(7.5, 0.002) == 1);
  CHECK(also_at(7.54, 0.002) == 2);
  CHECK(also_at(7.0, 0.002) == 2);
  CHECK(also_at(7.5, 0.03) == 2);  // may be anything from 7.06 to 7.94
}

TEST_CASE("reasoning: takes whose sound contradicts their speed say nothing of the order") {
  Analysis analysis = ten_at_the_pan();
  analysis.tones.front().takes = {"t01", "t02", "t03"};
  for (const char* id : {"t01", "t02", "t03"}) {
    TakeResult take;
    take.id = id;
    take.point = "pan";
    take.sound_speed.rpm = 1800.0;
    take.sound_speed.disagreement_percent = 0.4;
    analysis.takes.push_back(take);
  }
  const Verdict right = judged(analysis, two_pumps());
  analysis.takes.front().sound_speed.disagreement_percent = 100.0;
  const Verdict wrong = judged(analysis, two_pumps());
  CHECK(right.contradictions.empty());
  REQUIRE(!wrong.contradictions.empty());
  CHECK(wrong.contradictions.front().find("The sound of t01 contradicts the speed") == 0);
  CHECK(wrong.state != Inquiry::enough);
  CHECK(chance_of_suspect(wrong, "transmission pump") <
        chance_of_suspect(right, "transmission pump"));
  for (const Suspect& suspect : wrong.suspects)
    for (const EvidenceItem& item : suspect.evidence)
      CHECK(item.text.find("order 10.00") == std::string::npos);
  // One take of five is no more than a slip in one.
  for (const char* id : {"t04", "t05"}) analysis.tones.front().takes.emplace_back(id);
  CHECK(judged(analysis, two_pumps()).contradictions.empty());
}

TEST_CASE("reasoning: a weaker line at a multiple of the howl may be its harmonic") {
  const auto howl_at = [](double order, double level_db) {
    Howl howl;
    howl.pitch_settled = true;
    howl.order = LogEstimate{order, 0.002};
    howl.level_db = level_db;
    return howl;
  };
  const Howl eleven = howl_at(11.0, -20.0);
  CHECK(may_be_harmonic_of(howl_at(22.0, -25.0), eleven));
  CHECK(may_be_harmonic_of(howl_at(33.1, -25.0), eleven));        // 0.3 % off
  CHECK_FALSE(may_be_harmonic_of(howl_at(22.2, -25.0), eleven));  // 0.9 % off
  CHECK_FALSE(may_be_harmonic_of(howl_at(22.0, -19.0), eleven));  // stronger
  CHECK_FALSE(may_be_harmonic_of(howl_at(5.5, -25.0), eleven));   // below it
  CHECK_FALSE(may_be_harmonic_of(howl_at(55.0, -25.0), eleven));  // the fifth
  Howl twice = howl_at(11.0, -15.0);
  CHECK_FALSE(may_be_harmonic_of(twice, eleven));  // of another part, at nearly the same order
  twice.harmonic = 2;
  CHECK(may_be_harmonic_of(twice, eleven));  // both of one base
  Howl fixed = howl_at(22.0, -25.0);
  fixed.pitch_settled = false;
  CHECK_FALSE(may_be_harmonic_of(fixed, eleven));
}

TEST_CASE("reasoning: the same findings give the same verdict") {
  const Verdict once = judged(with_other_howl(-35.0), two_pumps());
  const Verdict again = judged(with_other_howl(-35.0), two_pumps());
  REQUIRE(once.suspects.size() == again.suspects.size());
  for (std::size_t i = 0; i < once.suspects.size(); ++i) {
    CHECK(once.suspects[i].source == again.suspects[i].source);
    CHECK(once.suspects[i].probability == again.suspects[i].probability);
  }
  CHECK(once.conclusion == again.conclusion);
}

TEST_CASE("reasoning: nobody is suspected where no source is known, or nothing howls") {
  const Verdict no_sources = judged(ten_at_the_pan(), profile_of({}));
  CHECK(no_sources.suspects.empty());
  CHECK(no_sources.conclusion.find("names no sources") != std::string::npos);
  const Verdict no_howl = judged(Analysis{}, two_pumps());
  CHECK(no_howl.suspects.empty());
  CHECK(no_howl.conclusion.find("No howl") != std::string::npos);
}

// Loudest at the block's front, of the order of the pump at the pan.
TEST_CASE("reasoning: what and where that disagree are told first") {
  Analysis analysis = ten_at_the_pan();
  analysis.ranking = {ranked("front", -30.0, 0.99), ranked("pan", -50.0, 0.01)};
  const Verdict verdict = judged(analysis, two_pumps());
  REQUIRE(!verdict.contradictions.empty());
  CHECK(verdict.contradictions.front().find("loudest at front") != std::string::npos);
  CHECK(verdict.state != Inquiry::enough);
}

TEST_CASE("reasoning: a dear repair that is not proven carries a warning") {
  Profile profile = two_pumps();
  profile.sources[1].makes = profile.sources[0].makes;
  profile.sources[1].below_db = profile.sources[0].below_db;
  const Verdict verdict = judged(ten_at_the_pan(), profile);
  REQUIRE(verdict.repairs.size() == 2);
  for (const RepairOption& repair : verdict.repairs) {
    CHECK(repair.irreversible);
    CHECK(repair.warning.find("prove it first") != std::string::npos);
  }
}

TEST_CASE("sources of one part count together in what is said of parts") {
  Source tensioner = crank_source("tensioner bearing", 10.0);
  Source pistons = crank_source("pistons", 10.0);
  Source clutch = crank_source("clutch bearing", 10.0);
  tensioner.component = "tensioner";
  pistons.component = clutch.component = "compressor";
  tensioner.how_often = 1.2 * pistons.how_often;
  const Verdict verdict = judged(analysis_of(tone_at_order(10.0, 0.002, kCrankLocked)),
                                 profile_of({tensioner, pistons, clutch}));
  CHECK(verdict.suspects.front().source == "tensioner bearing");
  const std::vector<PartChance> parts = parts_by_chance(verdict);
  CHECK(parts.front().component == "compressor");
  double sum = 0.0;
  for (const PartChance& part : parts) sum += part.probability;
  CHECK(sum == doctest::Approx(1.0));
  CHECK(verdict.conclusion.find("Likeliest part is compressor") != std::string::npos);
}

TEST_CASE("a howl whose band somebody gave is taken for the one complained of") {
  Analysis analysis = with_other_howl(-30.0);
  const double found = chance_of_suspect(judged(analysis, two_pumps()), "transmission pump");
  analysis.suspect_band->chosen_by_user = true;
  const Verdict given = judged(analysis, two_pumps());
  CHECK(chance_of_suspect(given, "transmission pump") > found + 0.05);
  CHECK(given.suspects.front().probability < 0.98);
}

TEST_CASE("levels at all points count, not only where it is loudest") {
  // Both are loudest at the pan; only one falls off as steeply as this howl does.
  Source steep = crank_source("steep", 10.0);
  Source flat = crank_source("flat", 10.0);
  steep.below_db = {{"pan", 0.0}, {"front", 20.0}, {"side", 20.0}};
  flat.below_db = {{"pan", 0.0}, {"front", 5.0}, {"side", 5.0}};
  Analysis analysis = ten_at_the_pan();
  analysis.ranking = {ranked("pan", -30.0, 0.99), ranked("front", -50.0, 0.005),
                      ranked("side", -50.0, 0.005)};
  CHECK(chance_of_suspect(judged(analysis, profile_of({steep, flat})), "steep") > 0.6);
  analysis.ranking = {ranked("pan", -30.0, 0.9), ranked("front", -35.0, 0.05),
                      ranked("side", -35.0, 0.05)};
  CHECK(chance_of_suspect(judged(analysis, profile_of({steep, flat})), "flat") > 0.6);
  // A level that is a bound says less, but what it leaves open fits the steep one only.
  analysis.ranking[1].level_db = analysis.ranking[2].level_db = -48.0;
  analysis.ranking[1].upper_bound = analysis.ranking[2].upper_bound = true;
  analysis.ranking[1].probability_loudest = analysis.ranking[2].probability_loudest = std::nullopt;
  CHECK(chance_of_suspect(judged(analysis, profile_of({steep, flat})), "steep") > 0.6);
}

TEST_CASE("an interval with an open end leaves every chance a number") {
  Source pump = crank_source("pump", 10.0);
  pump.below_db = {{"pan", 0.0}, {"front", 10.0}};
  Analysis analysis = ten_at_the_pan();
  analysis.ranking = {ranked("pan", -30.0, 0.9), ranked("front", -40.0, 0.1)};
  const double none = -std::numeric_limits<double>::infinity();
  for (const Interval ci : {Interval{none, -28.0}, Interval{none, -none}}) {
    analysis.ranking[0].ci95_db = ci;
    for (const Suspect& suspect :
         judged(analysis, profile_of({pump, crank_source("other", 7.0)})).suspects)
      CHECK(std::isfinite(suspect.probability));
  }
}

TEST_CASE("blows as often as the sidebands are apart are no second observation") {
  // The shaft at 2.5 to 3.0 turns a crank turn; its cage strikes 0.38 to 0.45 times as often.
  Source alternator = bearing_source("alternator bearing", {2.5, 3.0}, {3.05, 3.6});
  alternator.chance_of_sidebands = 0.6;
  Howl howl;
  howl.order = LogEstimate{9.2, 0.004};
  howl.sideband_order = LogEstimate{2.77, 0.004};
  const auto weight = [&](double order) {
    howl.blows = Howl::Blows{LogEstimate{order, 0.004}, 3};
    for (const Explained& item : explain(howl, alternator))
      if (item.id == "blows") return item.log_ratio;
    return 1e9;
  };
  // Only that it strikes, and blows are heard: (0.4 + 0.3 × 0.6 + 0.3) / (0.4 + 0.15).
  CHECK(weight(2.77) == doctest::Approx(std::log(0.88 / 0.55)));
  CHECK(weight(8.8) > 0.5);  // another order, and one of its flaws
}

TEST_CASE("facts that say partly the same: one more never takes the weight from one before") {
  // Common practice: chips and a burnt smell mean damage inside; low pressure goes with them.
  const std::vector<WorkshopFact> facts =
      parse_workshop_facts(built_in_workshop_facts(), "built in");
  const std::vector<Profile> profiles = list_profiles();
  const auto with = std::ranges::find_if(profiles, [](const Profile& p) {
    return std::ranges::any_of(p.sources,
                               [](const Source& s) { return s.name == "transmission pump"; });
  });
  REQUIRE(with != profiles.end());
  const auto damage = [&](const EnteredFacts& entered) {
    const Verdict verdict = judged(ten_at_the_pan(), *with, entered, facts);
    const auto& causes = suspect_named(verdict, "transmission pump").causes;
    const auto found =
        std::ranges::find(causes, "transmission damaged inside", &Suspect::Cause::id);
    return found == causes.end() ? 0.0 : found->probability;
  };
  EnteredFacts entered{{"pan-debris", "chips"}, {"fluid-look", "burnt"}};
  const double before = damage(entered);
  entered["line-pressure"] = "low";
  CHECK(before > 0.3);
  CHECK(damage(entered) > 0.7 * before);
}

TEST_CASE("reasoning: what merely stands out where nothing is prominent weighs little") {
  const Profile profile = profile_of({crank_source("pump", 11), crank_source("gear", 17)});
  ToneResult tone = tone_at_order(11.0, 0.002, {0.01, 0.9, 0.07, 0.01, 0.01});
  const double heard = chance_of_suspect(judged(analysis_of(tone), profile), "pump");
  tone.prominent = false;
  Analysis faint = analysis_of(tone);
  const double stood_out = chance_of_suspect(judged(faint, profile), "pump");
  CHECK(heard > 0.8);
  CHECK(stood_out < 0.75);
  CHECK(stood_out > chance_of_suspect(judged(faint, profile), "gear"));
  faint.suspect_band->chosen_by_user = true;  // somebody hears it
  CHECK(chance_of_suspect(judged(faint, profile), "pump") > stood_out);
}

TEST_CASE(
    "reasoning: a firing order in a band that somebody gave is judged, with the doubt it needs") {
  const Profile profile = profile_of({crank_source("pump", 10), crank_source("gear", 17)});
  ToneResult tone = tone_at_order(10.0, 0.002, {0.01, 0.9, 0.07, 0.01, 0.01});
  const double alone = chance_of_suspect(judged(analysis_of(tone), profile), "pump");
  tone.combustion = true;
  tone.family = "firing";
  Analysis analysis = analysis_of(tone);
  analysis.suspect_band->chosen_by_user = true;
  const Verdict verdict = judged(analysis, profile);
  CHECK(verdict.about == "tone1");
  CHECK(chance_of_suspect(verdict, "pump") > chance_of_suspect(verdict, "gear"));
  CHECK(chance_of_suspect(verdict, "pump") < alone - 0.1);
  ToneResult beside = tone_at_order(10.1, 0.002, {0.01, 0.9, 0.07, 0.01, 0.01});
  beside.id = "tone2";
  analysis.tones.push_back(beside);  // what is not the engine's comes first
  CHECK(judged(analysis, profile).about == "tone2");
}
