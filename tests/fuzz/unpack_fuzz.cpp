// Any bytes as a packed case: either refused with an Error, leaving nothing behind, or a whole case
// in the folder that was asked for and nothing beside it.

#include <stdlib.h>

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "src/case/case.h"
#include "src/errors.h"
#include "src/handover/pack.h"
#include "src/keeping/check_case.h"

namespace fs = std::filesystem;

namespace {

fs::path make_scratch_folder() {
  std::string name = (fs::temp_directory_path() / "unpack-fuzz-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) std::abort();
  return name;
}

std::size_t entries_in(const fs::path& folder) {
  return static_cast<std::size_t>(
      std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const fs::path scratch = make_scratch_folder();
  const fs::path file = scratch / "case.zip";
  const fs::path folder = scratch / "unpacked";
  std::ofstream(file, std::ios::binary)
      .write(reinterpret_cast<const char*>(data), static_cast<std::streamsize>(size));
  const howl::handover::UnpackLimits limits{
      .files = 100, .file_bytes = 1U << 20U, .all_bytes = 1U << 22U};
  try {
    howl::handover::unpack_case(file, folder, limits, [](double, std::string_view) {});
    if (!howl::check_case(folder).empty() || entries_in(scratch) != 2) std::abort();
    fs::remove_all(folder);
  } catch (const howl::Error&) {
    if (fs::exists(folder) || entries_in(scratch) != 1) std::abort();
  }
  return 0;
}
