#pragma once

#include <imgui.h>

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <map>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "ui/pictures/take_sound.h"

namespace howl::desk {

/// Where pictures become textures. Only the window's thread may call it.
class Textures {
 public:
  virtual ~Textures() = default;
  /// Pixels as ImU32, row 0 at the top.
  virtual ImTextureID make(int width, int height, std::span<const std::uint32_t> pixels) = 0;
  virtual void drop(ImTextureID texture) = 0;
};

enum class MapKind : std::uint8_t { spectrogram, orders };

/// A tile of a map: kTileSide cells each way between the centres of its outermost cells, which it
/// shares with its neighbours, so that smooth drawing has no seams.
inline constexpr std::size_t kTileSide = 256;
struct TileKey {
  std::string take;
  MapKind kind{};
  std::size_t level{};      ///< halvings in time
  std::size_t row_level{};  ///< halvings in frequency
  std::size_t column{};     ///< in tiles
  std::size_t row{};
  bool dark{};

  friend auto operator<=>(const TileKey&, const TileKey&) = default;
};

struct TilePixels {
  int width{};
  int height{};
  std::vector<std::uint32_t> pixels;  ///< row 0 is the highest frequency
};

/// Levels to colours: loud at the map's top_db; quiet at what its noise is, or kShownDb below the
/// top where the noise is lower still.
inline constexpr double kShownDb = 66.0;
TilePixels paint_tile(const TakeSound& sound, const TileKey& key,
                      const std::array<ImU32, 256>& colours, const Progress& progress);

/// Textures of tiles, the least recently drawn given up first.
class TileCache {
 public:
  /// Null while it is not there; then it is noted as wanted.
  ImTextureID find(const TileKey& key);
  /// Null while it is not there.
  ImTextureID peek(const TileKey& key);
  /// Those that were asked for since the last call and are neither there nor on their way.
  std::vector<TileKey> take_wanted();
  void arrived(const TileKey& key, TilePixels pixels);
  void failed(const TileKey& key);
  /// Makes textures of at most `most` tiles that arrived; true if more wait.
  bool upload(Textures& textures, std::size_t most);
  void forget_all(Textures& textures);
  /// Everything that was asked for is there.
  bool nothing_wanted() const {
    return wanted_.empty() && on_their_way_.empty() && waiting_.empty();
  }
  std::size_t size() const { return tiles_.size(); }

 private:
  struct Tile {
    ImTextureID texture{};
    std::uint64_t drawn{};
  };
  void give_up_oldest(Textures& textures);

  static constexpr std::size_t kMostTiles = 320;
  std::map<TileKey, Tile> tiles_;
  std::map<TileKey, TilePixels> waiting_;
  std::set<TileKey> wanted_;
  std::set<TileKey> on_their_way_;
  std::uint64_t clock_{};
};

}  // namespace howl::desk
