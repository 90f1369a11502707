#include "src/profile/profile.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "src/errors.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

namespace {

const std::string head = "name = \"n\"\ntitle = \"t\"\ndescription = \"d\"\n";
const std::string point = "[[probe_point]]\nname = \"p\"\ndescription = \"where\"\n";

Error refusal(const std::string& toml) {
  try {
    parse_profile(toml, "my.toml");
  } catch (const Error& error) {
    return error;
  }
  return {Fault::command, "", "accepted", ""};
}

bool is_lower_case(const std::string& text) {
  for (const char c : text)
    if (c >= 'A' && c <= 'Z') return false;
  return true;
}

}  // namespace

TEST_CASE("the profiles that are built in are whole") {
  const auto profiles = list_profiles();
  REQUIRE(profiles.size() >= 9);
  for (const Profile& profile : profiles) {
    CAPTURE(profile.name);
    CHECK(profile.points.size() >= 6);
    CHECK(profile.points.size() <= 18);
    CHECK(profile.strokes == 4);
    for (const ProbePoint& probe : profile.points) {
      CAPTURE(probe.name);
      CHECK(is_lower_case(probe.name));
      CHECK(probe.name.size() <= 26);
      CHECK(probe.place.has_value());
    }
    CHECK(profile.sources.size() >= 15);
    CHECK(profile.outlines.size() >= 4);
    CHECK(load_profile(profile.name).title == profile.title);
  }
  CHECK_FALSE(load_profile("blank-four-stroke").cylinders);
  CHECK(load_profile("transverse-four-automatic").cylinders == 4);
  CHECK(load_profile("inline-six-automatic").cylinders == 6);
}

TEST_CASE("no two points of a profile lie on top of each other on the sketch") {
  for (const Profile& profile : list_profiles()) {
    CAPTURE(profile.name);
    for (std::size_t i = 0; i < profile.points.size(); ++i)
      for (std::size_t k = 0; k < i; ++k) {
        const auto& a = profile.points[i].place;
        const auto& b = profile.points[k].place;
        CAPTURE(profile.points[i].name);
        CAPTURE(profile.points[k].name);
        if (a->view == b->view) CHECK(std::hypot(a->x - b->x, a->y - b->y) >= 0.03);
      }
  }
}

TEST_CASE("every vehicle is probed from below, from above and from the front") {
  using View = SketchPlace::View;
  for (const Profile& profile : list_profiles())
    for (const View view : {View::below, View::above, View::front}) {
      CAPTURE(profile.name);
      CHECK(std::ranges::any_of(profile.points, [&](const ProbePoint& point) {
        return point.place && point.place->view == view;
      }));
    }
}

TEST_CASE("every view that shows a point shows the vehicle too") {
  for (const Profile& profile : list_profiles())
    for (const ProbePoint& point : profile.points) {
      CAPTURE(profile.name);
      CAPTURE(point.name);
      CHECK(std::ranges::find(profile.outlines, point.place->view, &Outline::view) !=
            profile.outlines.end());
    }
}

TEST_CASE("profiles differ where their layouts do") {
  const auto has = [](const char* profile, const char* kind) {
    const auto sources = load_profile(profile).sources;
    return std::ranges::find(sources, kind, &Source::kind) != sources.end();
  };
  CHECK(has("transverse-four-automatic", "transmission pump"));
  CHECK_FALSE(has("inline-four-manual", "transmission pump"));
  CHECK(has("inline-four-manual", "gearbox bearing"));
  CHECK_FALSE(has("electric-steering", "steering pump vanes"));
  CHECK(has("electric-steering", "steering motor"));
  CHECK(has("hydraulic-fan", "hydraulic fan pump"));
  CHECK(has("starter-generator", "starter-generator whine"));
  CHECK_FALSE(has("starter-generator", "alternator ripple"));
  CHECK(has("diesel-van", "diesel pump"));
  CHECK(has("v8-pickup-automatic", "belt-driven fan"));
  CHECK(load_profile("starter-generator").impossible_tests ==
        std::vector<std::string>{"clutch", "belt"});
}

TEST_CASE("an unknown profile is refused with the known ones") {
  try {
    load_profile("v8");
    FAIL("loaded");
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::command);
    CHECK(error.remedy().find("blank-four-stroke, diesel-van, electric-steering") !=
          std::string::npos);
  }
}

TEST_CASE("a profile is read from a file") {
  const test::ScratchFolder folder;
  const auto file = test::write_text(folder / "Geländewagen.toml", head + point);
  const Profile profile = load_profile(file.string());
  CHECK(profile.name == "n");
  CHECK_FALSE(profile.cylinders);
  REQUIRE(profile.points.size() == 1);
  CHECK(profile.points[0].description == "where");
  CHECK_THROWS_AS(load_profile((folder / "none.toml").string()), Error);
}

TEST_CASE("faults in a profile name line and key") {
  const auto check = [](const std::string& toml, const char* where, const char* problem) {
    CAPTURE(toml);
    const Error error = refusal(toml);
    CHECK(error.fault() == Fault::file);
    CHECK(error.where() == where);
    CHECK(error.problem() == problem);
    CHECK_FALSE(error.remedy().empty());
  };
  check(head + "[engine]\ncylinders = \"4\"\n" + point, "my.toml, line 5",
        "'engine.cylinders' must be a whole number from 1 to 16");
  check(head + "[engine]\ncylinders = 17\n" + point, "my.toml, line 5",
        "'engine.cylinders' must be a whole number from 1 to 16");
  check(head + "[engine]\nstrokes = 2\n" + point, "my.toml, line 5", "'engine.strokes' must be 4");
  check(head + "engine = 4\n" + point, "my.toml, line 4", "'engine' must be a table");
  check(head + "colour = 4\n" + point, "my.toml, line 4",
        "'colour' is not a key that is known here");
  check(head + point + "nam = \"p\"\n", "my.toml, line 7",
        "'probe_point.nam' is not a key that is known here");
  check(head + "[[probe_point]]\nname = \"p\"\n", "my.toml, line 4",
        "'probe_point.description' is missing");
  check(head + point + point, "my.toml, line 8", "'probe_point.name' 'p' occurs twice");
  check(head, "my.toml, line 1", "'probe_point' is missing");
  check(head + "probe_point = [1]\n", "my.toml, line 4", "'probe_point' must be a list of tables");
  check("title = \"t\"\ndescription = \"d\"\n" + point, "my.toml, line 1", "'name' is missing");
  check("impossible_tests = [\"lamps\"]\n" + head + point, "my.toml, line 1",
        "'impossible_tests' names 'lamps', which is no load test");
  check(head + point + "view = \"below\"\nx = 0.5\n", "my.toml, line 4",
        "'probe_point.y' is missing");
  check(head + point + "view = \"side\"\nx = 0.5\ny = 0\n", "my.toml, line 7",
        "'probe_point.view' is \"side\"");
  check(head + point + "view = \"below\"\nx = 1.5\ny = 0\n", "my.toml, line 8",
        "'probe_point.x' is 1.5");
  const std::string shape = "[[outline]]\nlabel = \"body\"\nview = \"below\"\n";
  check(head + point + shape, "my.toml, line 7",
        "'outline.box' or 'polygon' must be there, and not both");
  check(head + point + shape + "box = [0.5, 0.5, 0.6, 0.1]\n", "my.toml, line 10",
        "'outline.box' reaches outside the sketch");
  check(head + point + shape + "box = [0.5, 0.5, 0.6]\n", "my.toml, line 10",
        "'outline.box' is no [x, y, width, height]");
  check(head + point + shape + "polygon = [[0, 0], [1, 1]]\n", "my.toml, line 10",
        "'outline.polygon' has 2 corners");
  check(head + "[wheels]\ncircumference = 1985\n" + point, "my.toml, line 5",
        "'wheels.circumference' is 1985");
  const std::string source = "[[source]]\nkind = \"tyre\"\n";
  check(head + point + source + source, "my.toml, line 9", "'source.name' 'tyre' occurs twice");
  CHECK(refusal("name = \n").problem().starts_with("is not TOML: "));
  CHECK(refusal("name = \n").where() == "my.toml, line 1");
}
