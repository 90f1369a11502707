#include <doctest/doctest.h>

#include <string>

#include "src/profile/load_tests.h"
#include "src/reasoning/fact_words.h"
#include "src/reasoning/workshop_facts.h"
#include "src/report/result_words.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/panels/load_choice.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"
#include "ui/state/quiz.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

ProbePoint point(const std::string& name) {
  ProbePoint made;
  made.name = name;
  return made;
}

}  // namespace

TEST_CASE("what a load test says names no option of the command line") {
  for (const LoadTest& test : load_tests()) {
    CAPTURE(test.key);
    CHECK_FALSE(test.name.empty());
    CHECK(test.how.find("--") == std::string::npos);
  }
  CHECK(load_words("ac", "on") == "air conditioning: on");
  CHECK(load_words("towing", "heavy") == "towing: heavy");  // of somebody's own
}

TEST_CASE("what a workshop fact tells to do names no key of another") {
  const std::vector<WorkshopFact> facts = load_workshop_facts();
  for (const WorkshopFact& fact : facts)
    for (const WorkshopFact& other : facts)
      if (other.key.find('-') != std::string::npos) {
        CAPTURE(fact.key);
        CAPTURE(other.key);
        CHECK(fact.how.find(other.key) == std::string::npos);
      }
}

TEST_CASE("what is said of a workshop fact shows no value as it is stored") {
  for (const WorkshopFact& fact : load_workshop_facts())
    for (const std::string& value : fact.values) {
      CAPTURE(fact.key);
      CAPTURE(value);
      CHECK(fact.how.find("is '" + value + "'") == std::string::npos);
      if (value.find('-') == std::string::npos) continue;
      CHECK(fact.how.find("'" + value + "'") == std::string::npos);
      CHECK(found_words(fact, value).find(value) == std::string::npos);
    }
}

TEST_CASE("what the answer says names what the window has") {
  CHECK(as_in_sheet("or doubtful (see Remarks).") == "or doubtful (see under 'Complaint').");
}

TEST_CASE("a difference is told with its limit") {
  CHECK(call_words(Call::clear, 12) == "a clear difference");
  CHECK(call_words(Call::maybe, 4) == "maybe, a hand can do as much");
  CHECK(call_words(Call::no_difference, 1.2) == "no difference, under 3 dB");
  CHECK(call_words(Call::no_difference, 7) == "no clear difference");
  CHECK(call_legend().find("no difference") != std::string::npos);
}

TEST_CASE("a class is told first whether it was right") {
  QuizRound round;
  round.truth = "fan";
  round.chosen = "fan";
  round.chosen_outcome = Outcome::right;
  CHECK(class_words(round) == "The class is right: fan.");
  round.chosen = "pump";
  round.chosen_outcome = Outcome::wrong;
  CHECK(class_words(round) == "The class is wrong: it said pump, but it was fan.");
  round.chosen_outcome = Outcome::passed;
  CHECK(class_words(round) == "The class left it open: it was fan.");
}

TEST_CASE("a recording's name suggests a point only where it holds its whole name") {
  const std::vector<ProbePoint> points{point("pump"), point("steering pump body")};
  CHECK(suggested_point("/x/Steering_Pump-body 2.wav", points) == "steering pump body");
  CHECK(suggested_point("/x/pump 1500.wav", points) == "pump");
  CHECK(suggested_point("/x/pumpe.wav", points).empty());
  CHECK(suggested_point("/x/take 7.wav", points).empty());
}

TEST_CASE("points are done where all are probed, or where those that are say enough") {
  Profile profile;
  profile.points = {point("a"), point("b"), point("c"), point("d")};
  Case value;
  for (const char* name : {"a", "b", "c"}) {
    Take take;
    take.point = name;
    value.takes.push_back(take);
  }
  const auto of_points = [&](const Analysis* analysis) {
    return step_statuses(value, profile, analysis)[1];
  };
  CHECK(of_points(nullptr).state == StepState::open);
  CHECK(of_points(nullptr).words == "3 of 4 probed");
  Analysis analysis;
  analysis.ranking.resize(1);
  analysis.ranking[0].call = Call::no_difference;
  CHECK(of_points(&analysis).state == StepState::open);
  analysis.ranking[0].call = Call::likely;
  CHECK(of_points(&analysis).state == StepState::done);
  Take last;
  last.point = "d";
  value.takes.push_back(last);
  CHECK(of_points(nullptr).state == StepState::done);
}

TEST_CASE("a message of the command line is told in the window's words") {
  CHECK(as_in_sheet("give the folder of a case, or make one with 'new'") ==
        "give the folder of a case, or begin one with 'New case'");
  CHECK(as_in_sheet("it proves nothing; see howlpoint check") == "it proves nothing");
  CHECK(as_in_sheet("known of it; tests that may tell why stand below.") ==
        "known of it; tests that may tell why stand under 'Proof'.");
  Desk desk{Settings{}};
  desk.apply(OpenCase{"/nowhere at all"});
  desk.finish_jobs();
  REQUIRE(desk.state().notices.size() == 1);
  CHECK(desk.state().notices[0].remedy.find("'New case'") != std::string::npos);
}
