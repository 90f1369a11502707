#pragma once

#include <filesystem>
#include <system_error>

#include "src/errors.h"

namespace howl {

/// A result that is written beside its file first and then takes its place, so that the file is
/// whole or untouched, whatever goes wrong on the way.
class PartFile {
 public:
  /// Begins the file, so that a place where nothing can be written is known before the work. Throws
  /// Error (machine fault).
  explicit PartFile(std::filesystem::path file);
  /// Removes what was written, unless it was kept.
  ~PartFile();
  PartFile(const PartFile&) = delete;
  PartFile& operator=(const PartFile&) = delete;

  /// What to write to.
  const std::filesystem::path& path() const { return part_; }
  /// Puts it in place of the file. Throws Error (machine fault).
  void keep();
  /// The error that says that the file cannot be written, and why.
  Error not_written(const std::error_code& reason) const;

 private:
  std::filesystem::path file_;
  std::filesystem::path part_;
  bool kept_{};
};

}  // namespace howl
