#include "src/profile/profile.h"

#include <doctest/doctest.h>

#include <string>

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
  REQUIRE(profiles.size() >= 3);
  for (const Profile& profile : profiles) {
    CAPTURE(profile.name);
    CHECK(profile.points.size() >= 6);
    CHECK(profile.points.size() <= 12);
    CHECK(profile.strokes == 4);
    for (const ProbePoint& probe : profile.points) {
      CHECK(is_lower_case(probe.name));
      CHECK(probe.name.size() <= 24);
    }
    CHECK(load_profile(profile.name).title == profile.title);
  }
  CHECK_FALSE(load_profile("blank-four-stroke").cylinders);
  CHECK(load_profile("transverse-four-automatic").cylinders == 4);
  CHECK(load_profile("inline-six-automatic").cylinders == 6);
}

TEST_CASE("an unknown profile is refused with the known ones") {
  try {
    load_profile("v8");
    FAIL("loaded");
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::command);
    CHECK(
        error.remedy().find("blank-four-stroke, inline-six-automatic, transverse-four-automatic") !=
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
  CHECK(refusal("name = \n").problem().starts_with("is not TOML: "));
  CHECK(refusal("name = \n").where() == "my.toml, line 1");
}
