#include "src/keeping/exchange_case.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "src/keeping/add_take.h"
#include "src/keeping/check_case.h"
#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

using namespace howl;
using namespace howl::test;
namespace fs = std::filesystem;

namespace {

/// A case with one take whose speed is logged, and one of two channels.
struct CaseOfTwo {
  ScratchFolder scratch;
  fs::path folder = scratch / "whine";

  CaseOfTwo() {
    Case value;
    value.title = "Whine";
    value.points = {{.name = "pan", .description = {}}, {.name = "pump", .description = {}}};
    create_case(folder, value);
    std::ofstream(scratch / "drive.csv") << "time (s),engine speed (rpm)\n0,1500\n1,1510\n2,1490\n";
    NewTake logged{.recording = write_sound(scratch / "a.wav", sines(2, 8000, 1), {.rate = 8000}),
                   .log = scratch / "drive.csv",
                   .take = {}};
    logged.take.point = "pan";
    logged.take.speed = LoggedSpeed{};
    add_take(folder, logged);
    NewTake held{.recording = write_sound(scratch / "b.wav", sines(2, 8000, 2),
                                          {.rate = 8000, .channels = 2}),
                 .log = std::nullopt,
                 .take = {}};
    held.take.point = "pump";
    held.take.speed = EnteredSpeed{Rpm(1500.0)};
    add_take(folder, held);
  }
  Case stored() const { return load_case(folder); }
  std::string log() const { return std::get<LoggedSpeed>(stored().takes[0].speed).log; }
};

/// The facts of a take as they are, to be changed.
NewTake facts_of(const Take& take) { return {.recording = {}, .log = std::nullopt, .take = take}; }

}  // namespace

TEST_CASE("files of takes that go are set aside, and come back with them") {
  const CaseOfTwo made;
  const Case whole = made.stored();
  Case less = whole;
  less.takes.erase(less.takes.begin());
  exchange_case(made.folder, whole, less);
  const fs::path aside = made.folder / set_aside_folder;
  CHECK(fs::exists(aside / whole.takes[0].recording));
  CHECK(fs::exists(aside / std::get<LoggedSpeed>(whole.takes[0].speed).log));
  CHECK_FALSE(fs::exists(made.folder / whole.takes[0].recording));
  CHECK(check_case(made.folder).empty());
  exchange_case(made.folder, less, whole);
  CHECK(same_case(made.stored(), whole));
  CHECK(check_case(made.folder).empty());
}

TEST_CASE(
    "a take that is taken out leaves the others and the points; one that is not there is told") {
  const CaseOfTwo made;
  const Case whole = made.stored();
  const Case less = taken_out(whole, "t01");
  REQUIRE(less.takes.size() == 1);
  CHECK(less.takes[0].id == "t02");
  CHECK(less.points.size() == whole.points.size());
  try {
    taken_out(whole, "t09");
    FAIL_CHECK("was accepted");
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::command);
    CHECK(error.remedy() == "its takes are t01, t02");
  }
}

TEST_CASE("a case that another program changed is not written over") {
  const CaseOfTwo made;
  const Case before = made.stored();
  update_case(made.folder, [](Case& value) { value.title = "From elsewhere"; });
  Case wanted = before;
  wanted.title = "Mine";
  CHECK_THROWS_AS(exchange_case(made.folder, before, wanted), CaseChangedElsewhere);
  CHECK_THROWS_AS(change_take(made.folder, before, "t01", facts_of(before.takes[0])),
                  CaseChangedElsewhere);
  CHECK(made.stored().title == "From elsewhere");
}

TEST_CASE("a take's facts change, its recording stays") {
  const CaseOfTwo made;
  const Case before = made.stored();
  NewTake facts = facts_of(before.takes[0]);
  facts.take.point = "pump";
  facts.take.note = "moved";
  const Case moved = change_take(made.folder, before, "t01", facts).value;
  CHECK(same_case(made.stored(), moved));
  CHECK(moved.takes[0].point == "pump");
  CHECK(moved.takes[0].sha256 == before.takes[0].sha256);
  CHECK(made.log() == std::get<LoggedSpeed>(before.takes[0].speed).log);

  facts.take.speed = EnteredSpeed{Rpm(1500.0)};  // its log is no longer needed
  change_take(made.folder, moved, "t01", facts);
  CHECK(check_case(made.folder).empty());
  CHECK(fs::exists(made.folder / set_aside_folder /
                   std::get<LoggedSpeed>(before.takes[0].speed).log));
}

TEST_CASE("a take's facts are judged as those of a new one, and the case stays as it was") {
  const CaseOfTwo made;
  const Case before = made.stored();
  const auto refused = [&](const std::string& id, const NewTake& facts) {
    CHECK_THROWS_AS(change_take(made.folder, before, id, facts), Error);
    CHECK(same_case(made.stored(), before));
    CHECK(check_case(made.folder).empty());
  };
  NewTake facts = facts_of(before.takes[1]);
  refused("t09", facts);
  facts.take.channel = 3;  // there are two
  refused("t02", facts);
  facts = facts_of(before.takes[1]);
  facts.take.point = "nowhere";
  refused("t02", facts);
  facts = facts_of(before.takes[1]);
  facts.take.speed = LoggedSpeed{};  // no log is given
  refused("t02", facts);
  facts.log = made.scratch / "b.wav";  // this is none
  refused("t02", facts);
  facts = facts_of(before.takes[0]);
  facts.take.speed = TachoSpeed{2, 1.0};  // the recording has one channel
  refused("t01", facts);
}
