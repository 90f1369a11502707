#include "src/cli/spooled_input.h"

#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <string>
#include <system_error>

#include "src/errors.h"

namespace howl {
namespace {

constexpr std::size_t chunk_bytes = 1 << 16;

std::filesystem::path make_private_folder() {
  const auto parent = std::filesystem::temp_directory_path();
  std::string name = (parent / "howlpoint-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr)
    throw Error(Fault::machine, parent.string(),
                "cannot make a temporary folder (" + std::generic_category().message(errno) + ")",
                "set TMPDIR to a folder that can be written");
  return name;
}

std::size_t read_some(std::array<char, chunk_bytes>& buffer) {
  for (;;) {
    const ssize_t count = ::read(STDIN_FILENO, buffer.data(), buffer.size());
    if (count >= 0) return static_cast<std::size_t>(count);
    if (errno != EINTR)
      throw Error(Fault::machine, "standard input",
                  "cannot read (" + std::generic_category().message(errno) + ")",
                  "give the recording as a file instead of -");
  }
}

std::size_t copy_standard_input(const std::filesystem::path& file) {
  std::ofstream out(file, std::ios::binary);
  std::array<char, chunk_bytes> buffer{};
  std::size_t total = 0;
  while (const std::size_t count = read_some(buffer)) {
    out.write(buffer.data(), static_cast<std::streamsize>(count));
    total += count;
  }
  if (!out.flush())
    throw Error(Fault::machine, file.string(), "cannot store what came on standard input",
                "make room on the disk, or set TMPDIR to a folder with more");
  return total;
}

}  // namespace

SpooledInput::SpooledInput()
    : folder_(make_private_folder()), file_(folder_ / "standard-input.wav") {
  try {
    if (copy_standard_input(file_) == 0)
      throw Error(Fault::file, "standard input", "nothing came, where a recording was expected",
                  "pipe an audio file into the command, or name a file instead of -");
  } catch (...) {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
    throw;
  }
}

SpooledInput::~SpooledInput() {
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

}  // namespace howl
