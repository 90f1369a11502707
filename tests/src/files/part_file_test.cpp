#include "src/files/part_file.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <iterator>

#include "tests/src/scratch_folder.h"

using namespace howl;
using namespace howl::test;

namespace {

auto files_in(const ScratchFolder& folder) {
  return std::distance(std::filesystem::directory_iterator(folder.path()),
                       std::filesystem::directory_iterator());
}

}  // namespace

TEST_CASE("a part file takes its place only when it is kept") {
  const ScratchFolder folder;
  const auto file = write_text(folder / "result", "old");
  {
    const PartFile part(file);
    write_text(part.path(), "half");
  }
  CHECK(content_of(file) == "old");
  CHECK(files_in(folder) == 1);
  {
    PartFile part(file);
    write_text(part.path(), "new");
    part.keep();
  }
  CHECK(content_of(file) == "new");
  CHECK(files_in(folder) == 1);
}

TEST_CASE("a part file that cannot be begun is refused at once") {
  const ScratchFolder folder;
  CHECK_THROWS_AS(PartFile(folder / "nowhere" / "result"), Error);
}
