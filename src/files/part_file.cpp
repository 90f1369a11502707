#include "src/files/part_file.h"

#include <fmt/format.h>

#include <cerrno>
#include <fstream>
#include <random>
#include <string>
#include <utility>

namespace howl {

namespace {

std::filesystem::path beside(const std::filesystem::path& file) {
  std::random_device device;
  std::filesystem::path other = file;
  other += fmt::format(".{:08x}.part", device());
  return other;
}

}  // namespace

PartFile::PartFile(std::filesystem::path file) : file_(std::move(file)), part_(beside(file_)) {
  errno = 0;
  if (!std::ofstream(part_))
    throw not_written(errno == 0 ? std::make_error_code(std::errc::io_error)
                                 : std::error_code(errno, std::generic_category()));
}

PartFile::~PartFile() {
  std::error_code ignored;
  if (!kept_) std::filesystem::remove(part_, ignored);
}

void PartFile::keep() {
  std::error_code reason;
  std::filesystem::rename(part_, file_, reason);
  if (reason) throw not_written(reason);
  kept_ = true;
}

Error PartFile::not_written(const std::error_code& reason) const {
  return {Fault::machine, file_.string(), fmt::format("cannot be written ({})", reason.message()),
          "choose a folder that exists, that you may write to, and that has room"};
}

}  // namespace howl
