#pragma once

#include <filesystem>

namespace howl {

/// Standard input copied to a temporary file, which goes when this value goes.
class SpooledInput {
 public:
  /// Reads to the end. Throws Error: nothing came (file fault), no space (machine fault).
  SpooledInput();
  ~SpooledInput();
  SpooledInput(const SpooledInput&) = delete;
  SpooledInput& operator=(const SpooledInput&) = delete;

  const std::filesystem::path& file() const { return file_; }

 private:
  std::filesystem::path folder_;
  std::filesystem::path file_;
};

}  // namespace howl
