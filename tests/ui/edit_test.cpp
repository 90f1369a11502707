#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "src/case/evidence.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/copies.h"
#include "ui/state/desk.h"
#include "ui/state/hand_over.h"

using namespace howl;
using namespace howl::desk;
namespace fs = std::filesystem;

namespace {

struct EditDesk {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};

  EditDesk() { wish(OpenCase{workshop.folder}); }
  const DeskState& state() const { return desk.state(); }
  void wish(const Intention& intention) {
    desk.apply(intention);
    desk.finish_jobs();
  }
  /// What is stored; empty where nothing was found out.
  std::string stored(const std::string& key) const {
    const Case value = load_case(workshop.folder);
    const WorkshopEvidence* const found = find_evidence(value, key);
    return found == nullptr ? "" : found->value;
  }
};

}  // namespace

TEST_CASE("what the workshop found is stored at once, and changes the answer") {
  EditDesk open;
  const auto before = open.state().answer;
  open.wish(EnterFact{"fluid-level", "low"});
  CHECK(open.stored("fluid-level") == "low");
  CHECK(open.state().answer != before);
  bool counts = false;
  for (const Suspect& suspect : open.state().analysis()->verdict.suspects)
    for (const EvidenceItem& item : suspect.evidence)
      if (item.id == "fact:fluid-level") counts = true;
  CHECK(counts);
  open.wish(EnterFact{"fluid-level", "high"});
  CHECK(open.stored("fluid-level") == "high");
  open.wish(EnterFact{"fluid-level", std::nullopt});
  CHECK(open.stored("fluid-level").empty());
}

TEST_CASE("what was found is on the disk although the window is closed at once") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  {
    Desk desk{Settings{}};
    desk.apply(OpenCase{workshop.folder});
    desk.finish_jobs();
    desk.apply(WriteOut{HandOver::pdf});  // what is on its way is not waited for
    desk.apply(EnterFact{"fluid-level", "low"});
  }
  CHECK(find_evidence(load_case(workshop.folder), "fluid-level") != nullptr);
}

TEST_CASE("what was found can be undone and redone, step by step, on the disk too") {
  EditDesk open;
  open.wish(EnterFact{"fluid-level", "low"});
  open.wish(EnterFact{"leak", "none"});
  open.wish(EnterFact{"leak", "none"});  // nothing new, no step
  open.wish(Undo{});
  CHECK(open.stored("fluid-level") == "low");
  CHECK(open.stored("leak").empty());
  open.wish(Undo{});
  CHECK(open.stored("fluid-level").empty());
  open.wish(Undo{});  // nothing is left to undo
  open.wish(Redo{});
  open.wish(Redo{});
  CHECK(open.stored("fluid-level") == "low");
  CHECK(open.stored("leak") == "none");
  open.wish(Undo{});
  open.wish(EnterFact{"pan-debris", "chips"});
  CHECK(open.state().cases_after.empty());
  CHECK(open.state().notices.empty());
}

TEST_CASE("an undo does not go over what another program entered") {
  EditDesk open;
  open.wish(EnterFact{"fluid-level", "low"});
  update_case(open.workshop.folder, [](Case& value) {
    enter_evidence(
        value, {.key = "leak", .value = "elsewhere", .note = {}, .added = "2026-05-04T10:00:00Z"});
  });
  open.wish(Undo{});
  CHECK(open.stored("leak") == "elsewhere");
  CHECK(open.stored("fluid-level") == "low");
  REQUIRE(open.state().notices.size() == 1);
  CHECK(open.state().notices[0].what.find("another program") != std::string::npos);
  CHECK(open.state().opened->value.evidence.size() == 2);  // read again
}

TEST_CASE("a fact is found by pressing it, and taken back by pressing it again") {
  EditDesk open;
  bench::Stage stage(open.desk);
  open.wish(GoTo{Step::complaint});
  stage.frame();
  stage.click("fact.fluid-level.low");
  open.desk.finish_jobs();
  CHECK(open.stored("fluid-level") == "low");
  stage.frame();
  stage.click("fact.fluid-level.low");
  open.desk.finish_jobs();
  CHECK(open.stored("fluid-level").empty());
  stage.frame();
  stage.click("undo.undo");
  open.desk.finish_jobs();
  CHECK(open.stored("fluid-level") == "low");
}

TEST_CASE("what is written lies beside the case, and never over what is there") {
  EditDesk open;
  const fs::path beside = open.workshop.folder.parent_path();
  const std::string name = open.workshop.folder.filename().string();
  for (const HandOver what : {HandOver::pdf, HandOver::html, HandOver::tables, HandOver::packed})
    open.wish(WriteOut{what});
  open.wish(WriteOut{HandOver::pdf});
  CHECK(open.state().notices.empty());
  const std::vector<fs::path> expected{beside / (name + "-report-2.pdf"),
                                       beside / (name + "-packed.zip"), beside / (name + "-tables"),
                                       beside / (name + "-report.html"),
                                       beside / (name + "-report.pdf")};
  CHECK(open.state().hand_over.written == expected);
  for (const fs::path& file : expected) CHECK(fs::exists(file));
  CHECK(free_place(open.workshop.folder / "", HandOver::pdf) == beside / (name + "-report-3.pdf"));
}

TEST_CASE("what cannot be written or shown is told in words") {
  EditDesk open;
  const auto recording = *fs::directory_iterator(open.workshop.folder / "recordings");
  std::ofstream(recording.path(), std::ios::app) << "x";
  open.wish(WriteOut{HandOver::packed});
  REQUIRE(open.state().notices.size() == 1);
  CHECK(open.state().notices[0].what.find("changed") != std::string::npos);
  CHECK(open.state().hand_over.written.empty());
  const std::string path = std::getenv("PATH");
  ::setenv("PATH", "/nowhere", 1);
  open.wish(ShowFile{open.workshop.folder});
  ::setenv("PATH", path.c_str(), 1);
  REQUIRE(open.state().notices.size() == 2);
  CHECK(open.state().notices[1].remedy.find("xdg-utils") != std::string::npos);
}

TEST_CASE("a case whose opening was called off is no longer being opened") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};
  desk.apply(OpenCase{workshop.folder});
  CHECK_FALSE(desk.state().opening.empty());
  desk.apply(CancelJob{1});
  CHECK(desk.state().opening.empty());
  desk.finish_jobs();
  CHECK(desk.state().opened == nullptr);
}

TEST_CASE("a table for the clipboard has its units in the heads and no break in a cell") {
  const handover::DataTable table{"t",
                                  "T",
                                  {{"point", "", ""}, {"level_db", "dB", ""}, {"loud", "", ""}},
                                  {{std::string("oil\tpan\nrim"), -32.5, true},
                                   {std::string("pump"), std::monostate{}, false}}};
  CHECK(tabbed(table) == "point\tlevel_db (dB)\tloud\noil pan rim\t-32.5\tyes\npump\t\tno\n");
}

TEST_CASE("each step has a table; it reaches the clipboard, but no answer that is hidden") {
  EditDesk open;
  open.wish(EnterFact{"fluid-level", "low"});
  bench::Stage stage(open.desk);
  for (const Step step : {Step::complaint, Step::points, Step::record, Step::listen, Step::pitch,
                          Step::where, Step::what, Step::proof, Step::report}) {
    open.wish(GoTo{step});
    open.wish(CopyTable{});
    REQUIRE(open.state().to_copy);
    stage.frame();
    CHECK_FALSE(open.state().to_copy);
  }
  open.wish(GoTo{Step::where});
  open.wish(CopyTable{});
  stage.frame();
  CHECK(std::string(ImGui::GetClipboardText()).starts_with("point\t"));
  open.wish(SetClassMode{true});
  open.wish(CopyTable{});
  CHECK_FALSE(open.state().to_copy);
}

TEST_CASE("the picture of a step is written beside the case") {
  EditDesk open;
  const fs::path beside = open.workshop.folder.parent_path();
  const std::string name = open.workshop.folder.filename().string();
  open.wish(GoTo{Step::where});
  open.wish(SavePicture{});
  CHECK(fs::file_size(beside / (name + "-ranking.png")) > 1000);
  open.wish(GoTo{Step::listen});
  open.wish(PickTake{"t02"});
  open.wish(SavePicture{});
  open.wish(SavePicture{});
  CHECK(fs::exists(beside / (name + "-spectrogram-t02.png")));
  CHECK(fs::exists(beside / (name + "-spectrogram-t02-2.png")));
  CHECK(open.state().notices.size() == 3);
}

TEST_CASE("what cannot be copied or saved is told, and not as done") {
  EditDesk open;
  open.wish(GoTo{Step::complaint});
  open.wish(CopyTable{});  // nothing was found in the workshop
  CHECK_FALSE(open.state().to_copy);
  REQUIRE(open.state().notices.size() == 1);
  CHECK(open.state().notices[0].kind == Notice::Kind::refusal);
  CHECK(open.state().notices[0].what == "'Complaint' has no table to copy");
  open.wish(GoTo{Step::record});
  open.wish(SavePicture{});
  REQUIRE(open.state().notices.size() == 2);
  CHECK(open.state().notices[1].what == "'Record' has no picture to save");
  CHECK(notices_age(open.state().notices, 1));
}

TEST_CASE("the newest of what went wrong is told first, and goes first") {
  EditDesk open;
  open.wish(GoTo{Step::record});
  open.wish(OpenCase{open.workshop.scratch / "first"});
  open.wish(OpenCase{open.workshop.scratch / "second"});
  open.wish(SavePicture{});
  REQUIRE(open.state().notices.size() == 3);
  CHECK(notices_in_turn(open.state().notices) == std::vector<std::size_t>{1, 0, 2});
  bench::Stage stage(open.desk);
  stage.frames(2);
  CHECK(stage.area_of("notice.close.1").y < stage.area_of("notice.close.0").y);
  stage.press_key("Escape");
  REQUIRE(open.state().notices.size() == 2);
  CHECK(open.state().notices[0].what.find("first") != std::string::npos);
}

TEST_CASE("takes of one point only are not compared: another point is what comes next") {
  EditDesk open;
  bench::Stage stage(open.desk);
  stage.frames(2);
  CHECK(stage.targets.contains("next.how"));
  open.wish(TakeOut{"t02"});
  stage.frames(2);
  CHECK_FALSE(stage.targets.contains("next.how"));
  bool told = false;
  for (const SketchView& view : open.state().answer->sketch.views)
    for (const SketchSpot& spot : view.spots)
      if (spot.point == "transmission pan") told = spot.words == "the only point so far";
  CHECK(told);
  REQUIRE(stage.targets.contains("next.record"));
  CHECK(stage.area_of("next.record").h >= kTouch);
  stage.click("next.record");
  CHECK(open.state().view.step == Step::record);
  CHECK_FALSE(open.state().record.takes_shown);
  CHECK(takes_at(open.state().opened->value, open.state().record.plan.point) == 0);
  CHECK_FALSE(open.state().record.plan.point.empty());
}

TEST_CASE("a case without takes leads to the first point by a button") {
  EditDesk open;
  open.wish(TakeOut{"t01"});
  open.wish(TakeOut{"t02"});
  open.wish(GoTo{Step::complaint});
  bench::Stage stage(open.desk);
  stage.frames(2);
  stage.click("next.record");
  CHECK(open.state().view.step == Step::record);
  CHECK(open.state().record.plan.point ==
        all_points(open.state().opened->value, open.state().opened->profile).front().name);
  CHECK_FALSE(stage.targets.contains("next.record"));  // there it is recorded
}

TEST_CASE("from a fact that is to be looked up, one is led to where it is entered") {
  EditDesk open;
  bench::Stage stage(open.desk);
  const auto& tests = open.state().analysis()->verdict.next_tests;
  const auto& facts = open.state().opened->facts;
  // The one that lies farthest down the list.
  std::size_t farthest = 0;
  std::size_t number = tests.size();
  for (std::size_t i = 0; i < tests.size(); ++i)
    for (std::size_t k = 0; k < facts.size(); ++k)
      if (tests[i].id == "fact:" + facts[k].key && k >= farthest) {
        farthest = k;
        number = i;
      }
  REQUIRE(number < tests.size());
  REQUIRE(farthest > 5);
  open.wish(ShowTest{number});
  stage.click("next.how");
  stage.click("next.enter");
  CHECK(open.state().view.step == Step::complaint);
  CHECK_FALSE(open.state().view.cautions_shown);
  stage.frames(3);
  const WorkshopFact& fact = facts[farthest];
  const Area value = stage.area_of("fact." + fact.key + "." + fact.values.front());
  CHECK(value.y > 60);
  CHECK(value.bottom() < 720 - 96);
  stage.click("fact." + fact.key + "." + fact.values.front());
  open.desk.finish_jobs();
  stage.frames(3);
  CHECK(open.stored(fact.key) == fact.values.front());
  const Area seen = stage.area_of("words.fact");  // it is still there, with what it means
  CHECK(seen.y > 60);
  CHECK(seen.bottom() < 720 - 96);
}

TEST_CASE("the list of keys has a button that closes it") {
  EditDesk open;
  bench::Stage stage(open.desk);
  open.wish(ShowKeys{true});
  stage.frames(2);
  CHECK(stage.area_of("keys.close").h >= kTouch);
  CHECK(stage.area_of("keys.close").w >= kTouch);
  stage.click("keys.close");
  CHECK_FALSE(open.state().view.keys_shown);
}
