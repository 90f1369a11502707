#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "src/errors.h"
#include "tests/report/example_analysis.h"
#include "ui/panels/window_frame.h"
#include "ui/script/script.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/settings.h"
#include "ui/state/sound_moves.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

std::string complaint_of(std::string_view script) {
  try {
    parse_script(script, "s");
  } catch (const Error& error) {
    return error.what();
  }
  return {};
}

}  // namespace

TEST_CASE("settings survive being written and read") {
  Settings settings;
  settings.dark = false;
  settings.scale = 1.25;
  settings.class_mode = true;
  settings.width = 1400;
  remember_case(settings, "/cases/whine at idle");
  remember_case(settings, "/cases/ünder load");
  CHECK(parse_settings(settings_text(settings)) == settings);
}

TEST_CASE("settings that make no sense are passed over") {
  const Settings read = parse_settings("scale=97\nwidth=abc\nnonsense\n=\ntheme=light\nrecent=");
  CHECK(read.scale == kScales.back());
  CHECK(read.width == Settings{}.width);
  CHECK_FALSE(read.dark);
  CHECK(read.recent.empty());
}

TEST_CASE("a case that is opened again moves to the front, and the oldest goes") {
  Settings settings;
  for (int i = 0; i < 12; ++i) remember_case(settings, "/c" + std::to_string(i));
  remember_case(settings, "/c6");
  CHECK(settings.recent.size() == kMostRecent);
  CHECK(settings.recent.front() == "/c6");
  CHECK(std::ranges::count(settings.recent, "/c6") == 1);
}

TEST_CASE("the steps say how far the job has come") {
  Case value;
  Profile profile;
  profile.points = {{"pan", ""}, {"pump", ""}, {"bracket", ""}};
  auto steps = step_statuses(value, profile, nullptr);
  CHECK(steps[0].words == "no title yet");
  CHECK(steps[1].words == "0 of 3 probed");
  CHECK(std::ranges::all_of(steps, [](const StepStatus& s) { return s.state == StepState::open; }));

  value.title = "Whine";
  for (const char* point : {"pan", "pump", "bracket"}) {
    value.takes.emplace_back();
    value.takes.back().point = point;
  }
  const Analysis analysis = testing::example_analysis();
  steps = step_statuses(value, profile, &analysis);
  CHECK(steps[0].state == StepState::done);
  CHECK(steps[1].state == StepState::done);
  CHECK(steps[2].words == "3 takes");
  CHECK(steps[4].words == "speed-locked");
  CHECK(steps[5].state == StepState::done);  // the call is 'clear'
  CHECK(steps[5].words == "transmission pan");
  CHECK(steps[6].words == "no suspect");
}

TEST_CASE("a spoilt take asks to be looked at") {
  Case value;
  value.takes.resize(2);
  Analysis analysis = testing::example_analysis();
  analysis.takes[1].quality = {
      {QualityKind::clipped, {}, 0.02, "clipped", "less gain", Severity::spoilt}};
  const auto steps = step_statuses(value, {}, &analysis);
  CHECK(steps[2].state == StepState::look);
  CHECK(steps[2].words == "1 to repeat");
}

TEST_CASE("looking nearer keeps what the mouse is on in its place, and never leaves the take") {
  // 0 … 10, nearer by half about 2.5 (a quarter of the way): 5 wide, so 1.25 … 6.25.
  const Interval near = zoomed({0, 10}, 0.5, 2.5, 0.1, 10);
  CHECK(near.low == doctest::Approx(1.25));
  CHECK(near.high == doctest::Approx(6.25));
  CHECK(zoomed({0, 10}, 4, 9.0, 0.1, 10) == Interval{0, 10});
  CHECK(zoomed({4, 6}, 1e-9, std::nullopt, 0.5, 10).width() == doctest::Approx(0.5));
  CHECK(kept_inside({-3, 1}, 10) == Interval{0, 4});
  CHECK(kept_inside({8, 12}, 10) == Interval{6, 10});
}

TEST_CASE("moving along moves what is shown only where there is more to see") {
  SoundView whole;
  CHECK(moved_time(whole, 10, 0.5) == whole);
  SoundView part;
  part.time_s = Interval{2, 4};
  CHECK(moved_time(part, 10, 0.5).time_s == Interval{3, 5});
  CHECK(moved_time(part, 10, -5).time_s == Interval{0, 2});
  CHECK_FALSE(zoomed_time(part, 10, 100).time_s);
}

TEST_CASE("a script is read into intentions") {
  const auto lines =
      parse_script("# pictures\nopen \"/cases/my case\"\n\nstep what\nzoom hz 100 900\n", "s");
  REQUIRE(lines.size() == 3);
  CHECK(lines[0].number == 2);
  CHECK(std::get<OpenCase>(std::get<Intention>(lines[0].command)).folder == "/cases/my case");
  CHECK(std::get<GoTo>(std::get<Intention>(lines[1].command)).step == Step::what);
  CHECK(std::get<AdjustSound>(std::get<Intention>(lines[2].command)).view.frequency_hz ==
        Interval{100, 900});
}

TEST_CASE("a script's mistakes are told with their line") {
  CHECK(complaint_of("wait\nfly high\n").find("s, line 2: 'fly' is not a command") == 0);
  CHECK(complaint_of("step dance").find("'dance' is no step") != std::string::npos);
  CHECK(complaint_of("zoom hz 900 100").find("lower one") != std::string::npos);
  CHECK(complaint_of("take").find("it reads: take ID|none") != std::string::npos);
  CHECK(complaint_of("scale big").find("'big' is not a number") != std::string::npos);
  CHECK(complaint_of("open \"half").find("quotation mark") != std::string::npos);
}

TEST_CASE("every command of a script is told by the help") {
  const std::string help = script_help();
  for (const char* verb : {"open", "step", "tone", "zoom", "screenshot", "until", "quit"})
    CHECK(help.find(std::string("  ") + verb) != std::string::npos);
}

TEST_CASE("keys without a case open the list and change the look, and do nothing else") {
  Desk desk(Settings{});
  CHECK(wish_of_key("F1", desk.state()));
  CHECK(wish_of_key("Ctrl+D", desk.state()));
  for (const char* key : {"1", "PageDown", "N", "T", "Down", "+", "0", "Escape", "Q", ""})
    CHECK_FALSE(wish_of_key(key, desk.state()));
}

TEST_CASE("larger and smaller stay within the scales there are") {
  Desk desk(Settings{});
  for (int i = 0; i < 20; ++i) desk.apply(*wish_of_key("Ctrl++", desk.state()));
  CHECK(desk.state().settings.scale == kScales.back());
  for (int i = 0; i < 20; ++i) desk.apply(*wish_of_key("Ctrl+-", desk.state()));
  CHECK(desk.state().settings.scale == kScales.front());
}

TEST_CASE("what is drawn grows with the window, and never beyond what the window holds") {
  Settings settings;
  CHECK(unit_in(settings, 1.0, 1280, 720) == 1.0F);
  CHECK(unit_in(settings, 1.0, 1366, 768) == 1.0F);
  // The lesser of 1920 / 1280 and 1080 / 800 is 1.35; 1.35^0.75 = 1.2524, in steps of an eighth.
  CHECK(unit_in(settings, 1.0, 1920, 1080) == 1.25F);
  CHECK(unit_in(settings, 2.0, 3840, 2160) == 2.5F);
  CHECK(unit_in(settings, 1.0, 7680, 4320) == 1.5F);
  // 640 / 960 is less than 480 / 540, in steps of 1/32.
  CHECK(unit_in(settings, 1.0, 640, 480) == 21.0F / 32.0F);
  settings.class_mode = true;
  CHECK(unit_in(settings, 1.0, 1280, 720) == doctest::Approx(1.3));
  settings.scale = 2.0;
  CHECK(unit_in(settings, 1.0, 1920, 1080) == 2.0F);
}
