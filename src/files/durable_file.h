#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace howl {

/// Replaces `file` in one step: written beside it as "<name>.tmp", flushed to disk, renamed, and
/// the folder flushed. On any failure the older file stays whole and the temporary one goes. The
/// caller sees to it that only one process does this at a time (FolderLock).
void replace_file(const std::filesystem::path& file, std::string_view text);

/// Copies byte by byte, in constant memory, to a file that must not be there yet; flushes it, reads
/// it back, and compares. Returns the SHA-256 of the bytes. No partial copy stays on failure.
std::string copy_verified(const std::filesystem::path& from, const std::filesystem::path& to);

/// Gives a file another name on the same disk, where there must be none yet, and flushes both
/// folders.
void move_durably(const std::filesystem::path& from, const std::filesystem::path& to);

}  // namespace howl
