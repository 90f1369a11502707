#pragma once

#include <filesystem>

namespace howl {

/// A folder that is filled beside its place, under a name of its own, and then takes the place, so
/// that it is there whole or not at all.
class NewFolder {
 public:
  /// Throws Error: the place is taken (command fault), or nothing can be made beside it (machine
  /// fault).
  explicit NewFolder(std::filesystem::path place);
  /// Removes what was written, unless it was kept.
  ~NewFolder();
  NewFolder(const NewFolder&) = delete;
  NewFolder& operator=(const NewFolder&) = delete;

  /// What to fill.
  const std::filesystem::path& path() const { return making_; }
  /// Throws Error, also where somebody else took the place meanwhile; nothing is overwritten.
  void keep();

 private:
  std::filesystem::path place_;
  std::filesystem::path making_;
  bool kept_{};
};

}  // namespace howl
