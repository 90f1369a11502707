#pragma once

#include <unistd.h>

#include <filesystem>
#include <string_view>
#include <utility>

#include "src/errors.h"

namespace howl {

/// An open file, closed at the end of its scope.
class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }

  int get() const { return number_; }
  int release() { return std::exchange(number_, -1); }

 private:
  int number_;
};

/// What the operating system said, as an Error: `deed` continues "the file …", as in "cannot be
/// written". A missing file or a folder in its place is the file's fault, all else the machine's.
Error system_error(const std::filesystem::path& file, std::string_view deed, int error_number);

/// Whether anything is in that place. Throws Error where that cannot be seen.
bool is_there(const std::filesystem::path& path);

/// Opens a regular file for reading. Throws Error: missing, a folder, a device, not allowed.
Descriptor open_for_reading(const std::filesystem::path& file);

}  // namespace howl
