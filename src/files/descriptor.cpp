#include "src/files/descriptor.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>

#include <cerrno>
#include <system_error>

namespace howl {

namespace {

std::string_view remedy_for(int error_number) {
  switch (error_number) {
    case ENOSPC:
    case EFBIG:
    case EDQUOT:
      return "free some space on the disk, then try again";
    case EACCES:
    case EPERM:
      return "give yourself the right to read and write there, or use another folder";
    case EROFS:
      return "use a folder on a disk that can be written";
    case ENOENT:
      return "check the spelling of the name";
    case ENOTDIR:
    case EISDIR:
    case ENAMETOOLONG:
      return "check the path";
    default:
      return "check the disk and its cable, then try again";
  }
}

Fault fault_of(int error_number) {
  return error_number == ENOENT || error_number == EISDIR || error_number == ENOTDIR
             ? Fault::file
             : Fault::machine;
}

}  // namespace

Error system_error(const std::filesystem::path& file, std::string_view deed, int error_number) {
  return {fault_of(error_number), file.string(),
          fmt::format("{}: {}", deed, std::generic_category().message(error_number)),
          std::string(remedy_for(error_number))};
}

bool is_there(const std::filesystem::path& path) {
  std::error_code problem;
  const bool there = std::filesystem::exists(path, problem);
  if (problem) throw system_error(path, "cannot be looked at", problem.value());
  return there;
}

Descriptor open_for_reading(const std::filesystem::path& file) {
  // O_NONBLOCK: opening a named pipe must not wait for somebody to write to it.
  Descriptor opened(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (opened.get() < 0) throw system_error(file, "cannot be opened", errno);
  struct stat status {};
  if (::fstat(opened.get(), &status) != 0) throw system_error(file, "cannot be opened", errno);
  if (S_ISDIR(status.st_mode))
    throw Error(Fault::file, file.string(), "is a folder", "give the file itself");
  if (!S_ISREG(status.st_mode))
    throw Error(Fault::file, file.string(), "is a pipe or a device, not a file",
                "save it as a file first");
  return opened;
}

}  // namespace howl
