#include "src/files/user_folders.h"

#include <doctest/doctest.h>

#include "tests/src/environment.h"

using namespace howl;

// XDG Base Directory Specification 0.8: defaults, and "All paths set in these environment variables
// must be absolute. If an implementation encounters a relative path in any of these variables it
// should consider the path invalid and ignore it."
TEST_CASE("a user's folders are those of the environment, where they are absolute") {
  const test::Variable home("HOME", "/at/home");
  const test::Variable configuration("XDG_CONFIG_HOME", "/set/aside");
  const test::Variable cache("XDG_CACHE_HOME", "not/absolute");
  CHECK(home_folder() == "/at/home");
  CHECK(configuration_folder() == "/set/aside");
  CHECK(cache_folder() == "/at/home/.cache");
}

TEST_CASE("without a home there are the folders that are set, and no others") {
  const test::Variable home("HOME", "");
  const test::Variable configuration("XDG_CONFIG_HOME", "");
  const test::Variable cache("XDG_CACHE_HOME", "/set/aside");
  CHECK(!home_folder());
  CHECK(!configuration_folder());
  CHECK(cache_folder() == "/set/aside");
}
