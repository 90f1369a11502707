#include "src/files/show_file.h"

#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <sstream>
#include <string>

#include "src/errors.h"

namespace howl {
namespace {

bool is_command(const std::string& name) {
  const char* const path = std::getenv("PATH");
  std::istringstream folders(path == nullptr ? "" : path);
  for (std::string folder; std::getline(folders, folder, ':');)
    if (::access((folder + "/" + name).c_str(), X_OK) == 0) return true;
  return false;
}

}  // namespace

void show_file(const std::filesystem::path& file) {
  std::string place = std::filesystem::absolute(file).string();
  std::array<std::string, 3> words{"setsid", "--fork", "xdg-open"};
  std::array<char*, 5> arguments{words[0].data(), words[1].data(), words[2].data(), place.data(),
                                 nullptr};
  pid_t child{};
  int status = -1;
  // It forks and ends at once: what it starts is nobody's child.
  const bool started =
      is_command(words[2]) &&
      ::posix_spawnp(&child, arguments[0], nullptr, nullptr, arguments.data(), environ) == 0;
  if (started) ::waitpid(child, &status, 0);
  if (status != 0)
    throw Error(Fault::machine, file.string(), "cannot be shown: this desktop has no xdg-open",
                "open it by hand, or install xdg-utils");
}

}  // namespace howl
