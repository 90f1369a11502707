#include <doctest/doctest.h>
#include <imgui_internal.h>

#include <algorithm>
#include <filesystem>
#include <string>

#include "src/profile/profile.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/look/text.h"
#include "ui/look/text_field.h"
#include "ui/look/wrapped_lines.h"
#include "ui/state/desk.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

constexpr float kNarrowest = 960;
constexpr float kLowest = 600;
const std::string kLongTitle =
    "Whine that rises with engine speed, in Park too, louder when the transmission is warm and the "
    "steering is turned to its stop, as it was before the last service";

/// Whether something is told in full beside the mouse, or beside what keys have reached.
bool tells_whole() {
  const ImGuiWindow* const window = ImGui::FindWindowByName("##Tooltip_00");
  return window != nullptr && window->Active;
}

/// A key that Dear ImGui reads itself, for a frame.
void press_in_field(bench::Stage& stage, ImGuiKey key) {
  ImGuiIO& io = ImGui::GetIO();
#if IMGUI_VERSION_NUM >= 18700
  io.AddKeyEvent(key, true);
  stage.frame();
  io.AddKeyEvent(key, false);
#else
  const int place = 400 + key;  // one for each
  io.KeyMap[key] = place;
  io.KeysDown[place] = true;
  stage.frame();
  io.KeysDown[place] = false;
#endif
  stage.frame();
}

void type_in_field(bench::Stage& stage, char letter) {
  ImGui::GetIO().AddInputCharacter(static_cast<unsigned>(letter));
  stage.frames(2);
}

/// The sheet on which the complaint is written, with a text of several lines.
struct WrittenComplaint {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};
  bench::Stage stage{desk, kNarrowest, kLowest};
  WrittenComplaint() {
    bench::open_on(desk, workshop.folder);
    desk.apply(BeginSheet{.kind = SheetKind::about});
    std::string text;
    for (int i = 0; i < 40; ++i) text += "whines ";
    desk.apply(TypeInto{"complaint", text + "end"});
    stage.frames(3);
  }
  std::string text() const { return field(desk.state().sheet->typed, "complaint"); }
  Area area() const { return stage.area_of("sheet.complaint"); }
  std::vector<LineSpan> lines() const {
    return wrapped_lines(ImGui::GetIO().Fonts->Fonts[0], area().w - 18, text());
  }
};

}  // namespace

TEST_CASE("typed text is broken to a width, and nothing of it is lost") {
  Desk desk{Settings{}};
  bench::Stage stage(desk);
  stage.frame();
  ImFont* const font = ImGui::GetIO().Fonts->Fonts[0];
  const std::string text = "when cold, and  after a\nlong\n\n" + std::string(60, 'w') + " é end ";
  const float width = text_width(font, "when cold, and");
  const auto lines = wrapped_lines(font, width, text);
  // "when cold, and  " | "after a" | "long" | "" | parts of the long word … | " é end "
  REQUIRE(lines.size() > 6);
  CHECK(text.substr(lines[0].from, lines[0].to - lines[0].from) == "when cold, and  ");
  CHECK(text.substr(lines[1].from, lines[1].to - lines[1].from) == "after a");
  CHECK(lines[3].from == lines[3].to);
  std::size_t at = 0;
  for (const LineSpan& line : lines) {
    if (line.from != at) CHECK(text[at++] == '\n');
    CHECK(line.from == at);
    std::string shown = text.substr(line.from, line.to - line.from);
    shown.erase(shown.find_last_not_of(' ') + 1);
    CHECK(text_width(font, shown) <= width + 0.5F);
    at = line.to;
  }
  CHECK(at == text.size());
  CHECK(line_of(lines, lines[1].from) == 1);  // the cursor behind a break stands on the next line
  CHECK(line_of(lines, text.size()) == lines.size() - 1);
  CHECK(wrapped_lines(font, width, "").size() == 1);
}

TEST_CASE("the complaint is broken to its field, which grows with it") {
  WrittenComplaint written;
  const Area field = written.area();
  ImFont* const font = ImGui::GetIO().Fonts->Fonts[0];
  const auto lines = written.lines();
  REQUIRE(lines.size() >= 4);
  CHECK(field.h >= static_cast<float>(lines.size()) * line_height(font));
}

TEST_CASE("in the complaint mouse and keys go by the lines that are seen") {
  WrittenComplaint written;
  const Area field = written.area();
  ImFont* const font = ImGui::GetIO().Fonts->Fonts[0];
  const auto lines = written.lines();
  REQUIRE(lines.size() >= 4);
  // To the beginning of the third line by the mouse, then a letter.
  written.stage.move_mouse({field.x + 8, field.y + 9 + 2.5F * line_height(font)});
  written.stage.frame();
  written.stage.press_mouse(true);
  written.stage.frame();
  written.stage.press_mouse(false);
  written.stage.frames(2);
  type_in_field(written.stage, 'x');
  CHECK(written.text().find('x') == lines[2].from);
  // One line up from behind it: behind the first letter of the second line.
  press_in_field(written.stage, ImGuiKey_UpArrow);
  type_in_field(written.stage, 'y');
  CHECK(written.text().find('y') == lines[1].from + 1);
  press_in_field(written.stage, ImGuiKey_Home);
  type_in_field(written.stage, 'z');
  CHECK(written.text().find('z') == lines[1].from);
  press_in_field(written.stage, ImGuiKey_End);
  type_in_field(written.stage, 'q');
  CHECK(written.text().find('q') > lines[1].from + 10);
  CHECK(written.text().find('q') < written.text().find('x'));
}

TEST_CASE("what a layout is like is told whole, however narrow the window") {
  Desk desk{Settings{}};
  bench::Stage stage(desk, kNarrowest, kLowest);
  desk.apply(BeginSheet{.kind = SheetKind::new_case});
  stage.frames(2);
  ImFont* const note = ImGui::GetIO().Fonts->Fonts[1];
  for (const Profile& profile : list_profiles()) {
    CAPTURE(profile.name);
    const Area row = stage.area_of("sheet.profile." + profile.name);
    CHECK(row.h > paragraph_height(note, row.w - 24, profile.description) + kBodySize);
  }
}

TEST_CASE("the headline of the next test has the lines that it needs") {
  Desk desk{Settings{}};
  bench::open_on(desk, bench::shared_workshop().folder);
  bench::Stage stage(desk, kNarrowest, kLowest);
  stage.frames(2);
  ImFont* const strong = ImGui::GetIO().Fonts->Fonts[2];
  const auto& tests = desk.state().answer->analysis.verdict.next_tests;
  REQUIRE_FALSE(tests.empty());
  for (std::size_t i = 0; i < tests.size(); ++i) {
    desk.apply(ShowTest{i});
    stage.frames(2);
    CAPTURE(tests[i].test);
    const Area head = stage.area_of("words.headline");
    const auto colon = tests[i].test.find(": ");
    const bool named = colon != std::string::npos && colon < 70;
    const float needed =
        paragraph_height(strong, head.w, named ? tests[i].test.substr(0, colon) : tests[i].test);
    CHECK(head.h >= std::min(needed, 2 * line_height(strong)));
  }
}

TEST_CASE("what had to be shortened is told in full to the mouse, and to keys") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  const std::string name(150, 'n');
  std::filesystem::create_directories(workshop.scratch / "places" / name);
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  bench::Stage stage(desk, kNarrowest, kLowest);
  desk.apply(BeginSheet{.kind = SheetKind::open_case});
  desk.apply(LookInto{workshop.scratch / "places"});
  desk.finish_jobs();
  stage.frames(2);
  CHECK_FALSE(tells_whole());
  stage.move_mouse(stage.area_of("place." + name).centre());
  stage.frames(2);
  CHECK(tells_whole());
  stage.move_mouse({-1e6F, -1e6F});
  stage.frames(2);
  CHECK_FALSE(tells_whole());
  for (int i = 0; i < 50 && stage.walk.reached() != "place." + name; ++i) stage.press_key("Tab");
  REQUIRE(stage.walk.reached() == "place." + name);
  stage.frames(2);
  CHECK(tells_whole());
  // It lies in the window, however long it is.
  const ImGuiWindow* const told = ImGui::FindWindowByName("##Tooltip_00");
  CHECK(told->Pos.x + told->Size.x <= kNarrowest);
  CHECK(told->Pos.y + told->Size.y <= kLowest);
}

TEST_CASE("a sheet takes the whole window: nothing behind it is reached or pressed") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  bench::Stage stage(desk);
  stage.frames(2);
  const Step before = desk.state().view.step;
  stage.press_key("Tab");
  REQUIRE_FALSE(stage.walk.reached().empty());  // on the rail
  desk.apply(BeginSheet{.kind = SheetKind::about});
  stage.frames(2);
  CHECK(stage.walk.reached().empty());
  for (int i = 0; i < 60; ++i) {
    stage.press_key("Tab");
    CAPTURE(stage.walk.reached());
    CHECK(stage.walk.reached().starts_with("sheet."));
  }
  stage.click("step.pitch");
  CHECK(desk.state().view.step == before);
  CHECK(desk.state().sheet);
  // How everything looks can still be changed, and the list of keys be seen.
  const bool dark = desk.state().settings.dark;
  stage.press_key("Ctrl+D");
  CHECK(desk.state().settings.dark != dark);
  stage.press_key("F1");
  CHECK(desk.state().view.keys_shown);
  stage.press_key("Escape");
  CHECK_FALSE(desk.state().view.keys_shown);
  CHECK(desk.state().sheet);
}

TEST_CASE("a long title and the vehicle stand beside the question in lines of their own") {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  Case value = load_case(workshop.folder);
  value.title = kLongTitle;
  save_case(workshop.folder, value);
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  bench::Stage stage(desk, kNarrowest, kLowest);
  desk.apply(GoTo{Step::complaint});
  stage.frames(2);
  const Area vehicle = stage.area_of("words.vehicle");
  ImFont* const note = ImGui::GetIO().Fonts->Fonts[1];
  CHECK(vehicle.h >= paragraph_height(note, vehicle.w, desk.state().opened->profile.title));
  stage.move_mouse(stage.area_of("words.title").centre());
  stage.frames(2);
  CHECK(tells_whole());
}

TEST_CASE("as a sheet opens its first field can be typed into at once") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  for (const bool with_case : {false, true}) {
    Desk desk{Settings{}};
    if (with_case) bench::open_on(desk, workshop.folder);
    bench::Stage stage(desk);
    stage.frames(2);
    stage.press_key("Ctrl+N");
    stage.frames(2);
    REQUIRE(desk.state().sheet);
    CHECK(ImGui::GetIO().WantTextInput);
    type_in_field(stage, 'x');
    CHECK(field(desk.state().sheet->typed, "title") == "x");
  }
}

TEST_CASE("arrows go through a sheet's list while its field of one line is typed into") {
  {
    Desk desk{Settings{}};
    bench::Stage stage(desk);
    stage.press_key("Ctrl+N");
    stage.frames(2);
    REQUIRE(ImGui::GetIO().WantTextInput);
    CHECK_FALSE(is_key_of_field("Down"));
    CHECK_FALSE(is_key_of_field("Ctrl+Enter"));
    CHECK(is_key_of_field("Left"));
    CHECK(is_key_of_field("Shift+Up"));
    stage.press_key("Down");
    stage.press_key("Down");
    CHECK(field(desk.state().sheet->typed, "profile") == list_profiles()[1].name);
    CHECK(ImGui::GetIO().WantTextInput);
  }
  // The complaint has lines, through which they go.
  WrittenComplaint written;
  written.stage.click("sheet.complaint");
  REQUIRE(ImGui::GetIO().WantTextInput);
  CHECK(is_key_of_field("Down"));
}
