#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <span>
#include <string>

namespace howl {

/// Hands a file's bytes to `take`, piece by piece, in constant memory. Throws Error.
void for_each_piece(const std::filesystem::path& file,
                    const std::function<void(std::span<const std::byte>)>& take);

/// A whole text file. Throws Error, also if it is larger than `limit` bytes.
std::string read_text_file(const std::filesystem::path& file, std::size_t limit);

}  // namespace howl
