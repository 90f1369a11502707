#include "src/files/folder_lock.h"

#include <fcntl.h>
#include <sys/file.h>

#include <cerrno>
#include <thread>

namespace howl {

namespace {

Descriptor open_lock_file(const std::filesystem::path& file) {
  Descriptor opened(::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666));
  if (opened.get() < 0) throw system_error(file.parent_path(), "cannot be written to", errno);
  return opened;
}

}  // namespace

FolderLock::FolderLock(const std::filesystem::path& folder, std::chrono::milliseconds patience)
    : file_(open_lock_file(folder / lock_file_name)) {
  const auto deadline = std::chrono::steady_clock::now() + patience;
  while (::flock(file_.get(), LOCK_EX | LOCK_NB) != 0) {
    if (errno != EWOULDBLOCK && errno != EINTR)
      throw system_error(folder, "cannot be locked", errno);
    if (std::chrono::steady_clock::now() >= deadline)
      throw Error(Fault::machine, folder.string(),
                  "another program is writing to this case at the moment",
                  "let it finish, then try again");
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
}

}  // namespace howl
