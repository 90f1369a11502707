#pragma once

#include <chrono>
#include <filesystem>

#include "src/files/descriptor.h"

namespace howl {

/// Name of the file that carries the lock. It is empty and stays in the folder.
inline constexpr std::string_view lock_file_name = ".howlpoint.lock";

/// The right to change a case folder, held by one process at a time and given back at the end of
/// the scope, also when the process dies.
class FolderLock {
 public:
  /// Waits up to `patience` for another holder. Throws Error: still held, or not allowed to write.
  explicit FolderLock(const std::filesystem::path& folder,
                      std::chrono::milliseconds patience = std::chrono::seconds(20));

 private:
  Descriptor file_;
};

}  // namespace howl
