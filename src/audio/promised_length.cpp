#include "src/audio/promised_length.h"

#include <algorithm>
#include <array>
#include <fstream>
#include <span>
#include <string_view>

namespace howl {

namespace {

enum class ByteOrder { little, big };

/// How a family of formats writes its chunks: an identifier, a size, a body.
struct ChunkLayout {
  std::string_view audio_id;
  std::uint64_t first{};   ///< where the first chunk begins
  std::size_t id_bytes{};  ///< of which the first four are compared
  std::size_t size_bytes{};
  bool size_counts_head{};
  std::uint64_t alignment{1};
  ByteOrder order{};
};

struct Chunk {
  std::array<char, 4> id{};
  std::uint64_t body{};  ///< where its content begins
  std::uint64_t size{};  ///< of its content
};

class Bytes {
 public:
  explicit Bytes(const std::filesystem::path& file) : stream_(file, std::ios::binary) {
    stream_.seekg(0, std::ios::end);
    const auto end = stream_.tellg();
    size_ = end > 0 ? static_cast<std::uint64_t>(end) : 0;
  }

  std::uint64_t size() const { return size_; }

  bool read(std::uint64_t offset, std::span<char> out) {
    if (offset > size_ || size_ - offset < out.size()) return false;
    stream_.clear();
    stream_.seekg(static_cast<std::streamoff>(offset));
    return static_cast<bool>(stream_.read(out.data(), static_cast<std::streamsize>(out.size())));
  }

  std::optional<std::uint64_t> number(std::uint64_t offset, std::size_t bytes, ByteOrder order) {
    std::array<char, 8> raw{};
    const auto used = std::span(raw).first(bytes);
    if (!read(offset, used)) return std::nullopt;
    if (order == ByteOrder::little) std::ranges::reverse(used);
    std::uint64_t value = 0;
    for (const char c : used) value = value << 8U | static_cast<unsigned char>(c);
    return value;
  }

 private:
  std::ifstream stream_;
  std::uint64_t size_{};
};

std::optional<ChunkLayout> layout_of(std::string_view magic) {
  const ChunkLayout riff{.audio_id = "data",
                         .first = 12,
                         .id_bytes = 4,
                         .size_bytes = 4,
                         .alignment = 2,
                         .order = ByteOrder::little};
  if (magic == "RIFF" || magic == "RF64" || magic == "BW64") return riff;
  if (magic == "RIFX") {
    ChunkLayout rifx = riff;
    rifx.order = ByteOrder::big;
    return rifx;
  }
  if (magic == "FORM") {
    ChunkLayout aiff = riff;
    aiff.audio_id = "SSND";
    aiff.order = ByteOrder::big;
    return aiff;
  }
  if (magic == "riff")
    return ChunkLayout{.audio_id = "data",
                       .first = 40,
                       .id_bytes = 16,
                       .size_bytes = 8,
                       .size_counts_head = true,
                       .alignment = 8,
                       .order = ByteOrder::little};
  if (magic == "caff")
    return ChunkLayout{
        .audio_id = "data", .first = 8, .id_bytes = 4, .size_bytes = 8, .order = ByteOrder::big};
  return std::nullopt;
}

std::optional<Chunk> chunk_at(Bytes& bytes, std::uint64_t offset, const ChunkLayout& layout) {
  Chunk chunk;
  if (!bytes.read(offset, chunk.id)) return std::nullopt;
  const auto size = bytes.number(offset + layout.id_bytes, layout.size_bytes, layout.order);
  if (!size) return std::nullopt;
  const std::uint64_t head = layout.id_bytes + layout.size_bytes;
  chunk.body = offset + head;
  chunk.size = layout.size_counts_head ? std::max(*size, head) - head : *size;
  return chunk;
}

/// Sizes that stand for "not known yet": all ones, or the largest signed number less a header.
bool is_open(std::uint64_t size, std::size_t bytes) {
  if (bytes == 8) return size >= std::uint64_t{1} << 62U;
  return size == 0xFFFF'FFFFU || (size >= 0x7FFF'0000U && size <= 0x7FFF'FFFFU);
}

std::optional<AudioBytes> measured(const Bytes& bytes, std::uint64_t body, std::uint64_t size) {
  return AudioBytes{.promised = size, .present = std::min(size, bytes.size() - body)};
}

std::optional<AudioBytes> audio_in_chunks(Bytes& bytes, const ChunkLayout& layout) {
  constexpr std::uint64_t ds64_data_size = 8;  // offset in the body of an RF64 file's ds64 chunk
  std::optional<std::uint64_t> size_elsewhere;
  std::uint64_t offset = layout.first;
  for (int chunks = 0; chunks < 10'000; ++chunks) {
    const auto chunk = chunk_at(bytes, offset, layout);
    if (!chunk) return std::nullopt;
    const std::string_view id(chunk->id.data(), chunk->id.size());
    if (id == "ds64") size_elsewhere = bytes.number(chunk->body + ds64_data_size, 8, layout.order);
    if (id == layout.audio_id) {
      if (!is_open(chunk->size, layout.size_bytes))
        return measured(bytes, chunk->body, chunk->size);
      if (size_elsewhere) return measured(bytes, chunk->body, *size_elsewhere);
      return std::nullopt;
    }
    if (chunk->size > bytes.size()) return std::nullopt;
    offset = chunk->body + chunk->size;
    offset += (layout.alignment - offset % layout.alignment) % layout.alignment;
  }
  return std::nullopt;
}

std::optional<AudioBytes> audio_in_au(Bytes& bytes, ByteOrder order) {
  const auto body = bytes.number(4, 4, order);
  const auto size = bytes.number(8, 4, order);
  if (!body || !size || is_open(*size, 4) || *body > bytes.size()) return std::nullopt;
  return measured(bytes, *body, *size);
}

}  // namespace

std::optional<AudioBytes> audio_bytes_of(const std::filesystem::path& file) {
  Bytes bytes(file);
  std::array<char, 4> start{};
  if (!bytes.read(0, start)) return std::nullopt;
  const std::string_view magic(start.data(), start.size());
  if (magic == ".snd") return audio_in_au(bytes, ByteOrder::big);
  if (magic == "dns.") return audio_in_au(bytes, ByteOrder::little);
  const auto layout = layout_of(magic);
  return layout ? audio_in_chunks(bytes, *layout) : std::nullopt;
}

}  // namespace howl
