#include "src/files/durable_file.h"

#include <fcntl.h>

#include <cerrno>
#include <cstdio>
#include <span>

#include "src/files/descriptor.h"
#include "src/files/read_file.h"
#include "src/files/sha256.h"

namespace howl {

namespace {

/// A file being written: gone again at the end of the scope unless it was kept.
class NewFile {
 public:
  NewFile(std::filesystem::path file, int flags)
      : file_(std::move(file)),
        descriptor_(::open(file_.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC | flags, 0666)) {
    if (descriptor_.get() < 0) throw cannot_be_written();
  }
  ~NewFile() {
    if (!kept_) ::unlink(file_.c_str());
  }
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  void write(std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
      const ssize_t done = ::write(descriptor_.get(), bytes.data(), bytes.size());
      if (done < 0 && errno == EINTR) continue;
      if (done < 0) throw cannot_be_written();
      bytes = bytes.subspan(static_cast<std::size_t>(done));
    }
  }
  /// Brings everything to the disk. Some file systems report a full disk only here.
  void flush() {
    if (::fsync(descriptor_.get()) != 0 || ::close(descriptor_.release()) != 0)
      throw cannot_be_written();
  }
  void keep() { kept_ = true; }

 private:
  Error cannot_be_written() const { return system_error(file_, "cannot be written", errno); }

  std::filesystem::path file_;
  Descriptor descriptor_;
  bool kept_{};
};

/// Makes a new name durable. Not every file system can (network shares say EINVAL); the files are
/// whole all the same, so that this never fails.
void flush_folder(const std::filesystem::path& folder) {
  const Descriptor opened(
      ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (opened.get() >= 0) ::fsync(opened.get());
}

}  // namespace

void replace_file(const std::filesystem::path& file, std::string_view text) {
  std::filesystem::path beside = file;
  beside += ".tmp";
  NewFile fresh(beside, O_TRUNC);
  fresh.write(std::as_bytes(std::span(text)));
  fresh.flush();
  if (std::rename(beside.c_str(), file.c_str()) != 0)
    throw system_error(file, "cannot be replaced", errno);
  fresh.keep();
  flush_folder(file.parent_path());
}

void move_durably(const std::filesystem::path& from, const std::filesystem::path& to) {
  if (is_there(to)) throw system_error(to, "cannot be written", EEXIST);
  if (std::rename(from.c_str(), to.c_str()) != 0)
    throw system_error(from, "cannot be moved", errno);
  flush_folder(to.parent_path());
  flush_folder(from.parent_path());
}

std::string copy_verified(const std::filesystem::path& from, const std::filesystem::path& to) {
  NewFile copy(to, O_EXCL);
  Sha256 hash;
  for_each_piece(from, [&](std::span<const std::byte> piece) {
    hash.add(piece);
    copy.write(piece);
  });
  copy.flush();
  std::string digest = hash.finish();
  if (sha256_of_file(to) != digest)
    throw Error(Fault::machine, to.string(), "does not read back as it was written",
                "check the disk, then try again");
  flush_folder(to.parent_path());
  copy.keep();
  return digest;
}

}  // namespace howl
