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
