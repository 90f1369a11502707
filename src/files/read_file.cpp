#include "src/files/read_file.h"

#include <fmt/format.h>

#include <cerrno>
#include <vector>

#include "src/files/descriptor.h"

namespace howl {

namespace {
constexpr std::size_t piece_bytes = std::size_t{1} << 18;
}

void for_each_piece(const std::filesystem::path& file,
                    const std::function<void(std::span<const std::byte>)>& take) {
  const Descriptor source = open_for_reading(file);
  std::vector<std::byte> buffer(piece_bytes);
  for (;;) {
    const ssize_t got = ::read(source.get(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) throw system_error(file, "cannot be read", errno);
    if (got == 0) return;
    take(std::span(buffer).first(static_cast<std::size_t>(got)));
  }
}

std::string read_text_file(const std::filesystem::path& file, std::size_t limit) {
  std::string text;
  for_each_piece(file, [&](std::span<const std::byte> piece) {
    if (text.size() + piece.size() > limit)
      throw Error(
          Fault::file, file.string(),
          fmt::format("is larger than {} MB, too large for what it should be", limit / 1'000'000),
          "check that it is the right file");
    for (const std::byte byte : piece) text.push_back(static_cast<char>(byte));
  });
  return text;
}

}  // namespace howl
