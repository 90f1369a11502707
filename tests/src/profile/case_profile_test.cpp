#include "src/profile/case_profile.h"

#include <doctest/doctest.h>

#include "src/errors.h"
#include "tests/src/scratch_folder.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr std::string_view mine = R"(name = "transverse-four-automatic"
title = "Mine"
description = "As it was when the case was made"
[[probe_point]]
name = "pan"
description = "rim"
)";

Case case_of(const std::string& profile) {
  Case value;
  value.title = "Whine";
  value.profile = profile;
  value.cylinders = 3;
  value.points = {{.name = "bell housing", .description = "upper bolt"}};
  return value;
}

}  // namespace

TEST_CASE("a case's own profile goes before the built-in one of the same name") {
  const ScratchFolder folder;
  create_case(folder.path(), case_of("transverse-four-automatic"), mine);
  CHECK(case_profile(folder.path(), load_case(folder.path())).title == "Mine");
}

TEST_CASE("a case of before profiles were kept uses the built-in one, or knows only its points") {
  const ScratchFolder folder;
  const Profile built_in = case_profile(folder.path(), case_of("transverse-four-automatic"));
  CHECK(built_in.cylinders == 4);
  const Profile unknown = case_profile(folder.path(), case_of("./no such/profile.toml"));
  CHECK(unknown.name == "./no such/profile.toml");
  CHECK(unknown.cylinders == 3);
  REQUIRE(unknown.points.size() == 1);
  CHECK(unknown.points[0].name == "bell housing");
}

TEST_CASE("a kept profile that is lost or broken is an error, not another profile") {
  const ScratchFolder folder;
  create_case(folder.path(), case_of("transverse-four-automatic"), mine);
  const Case value = load_case(folder.path());
  write_text(folder / "profile.toml", "name = ");
  CHECK_THROWS_AS(case_profile(folder.path(), value), Error);
  std::filesystem::remove(folder / "profile.toml");
  CHECK_THROWS_AS(case_profile(folder.path(), value), Error);
}

TEST_CASE("the text of a built-in profile is the profile again") {
  for (const Profile& profile : list_profiles()) {
    CHECK(parse_profile(profile.toml, "again").title == profile.title);
    CHECK(built_in_profile(profile.name)->toml == profile.toml);
  }
  CHECK_FALSE(built_in_profile("no-such-profile"));
}
