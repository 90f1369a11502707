#include "ui/pictures/tiles.h"

#include <algorithm>
#include <utility>

namespace howl::desk {
namespace {

const LevelPyramid& pyramid_of(const TakeSound& sound, MapKind kind) {
  return kind == MapKind::orders ? *sound.orders : sound.spectrogram;
}

/// The columns of a tile: of a level that is held, or computed anew.
LevelGrid tile_columns(const TakeSound& sound, const TileKey& key, const Progress& progress) {
  const LevelPyramid& pyramid = pyramid_of(sound, key.kind);
  const std::size_t first = key.column * kTileSide;
  if (key.level < pyramid.finest)
    return fine_columns(sound, key.level, first, kTileSide + 1, progress);
  const LevelGrid& all =
      pyramid.levels.at(std::min(key.level, pyramid.depth() - 1) - pyramid.finest);
  const std::size_t end = std::min(first + kTileSide + 1, all.columns);
  if (first >= end) return {0, all.rows, {}};
  const auto begin = all.level.begin();
  return {end - first,
          all.rows,
          {begin + static_cast<std::ptrdiff_t>(first * all.rows),
           begin + static_cast<std::ptrdiff_t>(end * all.rows)}};
}

/// The loudest of the lines that share a cell, so that a thin tone never gets lost.
std::uint8_t loudest(const LevelGrid& grid, std::size_t column, std::size_t row,
                     std::size_t row_level) {
  const std::size_t first = row << row_level;
  const std::size_t end = std::min((row + 1) << row_level, grid.rows);
  std::uint8_t top = 0;
  for (std::size_t r = first; r < end; ++r) top = std::max(top, grid.at(column, r));
  return top;
}

std::array<ImU32, 256> colours_of_bytes(const LevelPyramid& map,
                                        const std::array<ImU32, 256>& colours) {
  constexpr double under_noise_db = 3;
  const double low = std::max(map.top_db - kShownDb, map.noise_db - under_noise_db);
  const double span = std::max(map.top_db - low, 20.0);
  std::array<ImU32, 256> table{};
  for (std::size_t i = 0; i < table.size(); ++i) {
    const double share = (byte_level_db(static_cast<double>(i)) - low) / span;
    table.at(i) = colours.at(static_cast<std::size_t>(255.0 * std::clamp(share, 0.0, 1.0)));
  }
  return table;
}

}  // namespace

TilePixels paint_tile(const TakeSound& sound, const TileKey& key,
                      const std::array<ImU32, 256>& colours, const Progress& progress) {
  const LevelGrid grid = tile_columns(sound, key, progress);
  const auto table = colours_of_bytes(pyramid_of(sound, key.kind), colours);
  constexpr std::size_t side = kTileSide + 1;
  TilePixels tile{static_cast<int>(side), static_cast<int>(side),
                  std::vector<std::uint32_t>(side * side, 0)};
  for (std::size_t c = 0; c < side && grid.columns > 0; ++c) {
    const std::size_t column = std::min(c, grid.columns - 1);
    for (std::size_t r = 0; r < side; ++r) {
      const std::size_t row = key.row * kTileSide + r;
      if (row << key.row_level >= grid.rows) break;
      tile.pixels[(side - 1 - r) * side + c] = table.at(loudest(grid, column, row, key.row_level));
    }
  }
  return tile;
}

ImTextureID TileCache::find(const TileKey& key) {
  const ImTextureID texture = peek(key);
  if (texture == nullptr && !on_their_way_.contains(key) && !waiting_.contains(key))
    wanted_.insert(key);
  return texture;
}

ImTextureID TileCache::peek(const TileKey& key) {
  const auto found = tiles_.find(key);
  if (found == tiles_.end()) return nullptr;
  found->second.drawn = ++clock_;
  return found->second.texture;
}

std::vector<TileKey> TileCache::take_wanted() {
  std::vector<TileKey> wanted(wanted_.begin(), wanted_.end());
  on_their_way_.insert(wanted_.begin(), wanted_.end());
  wanted_.clear();
  return wanted;
}

void TileCache::arrived(const TileKey& key, TilePixels pixels) {
  on_their_way_.erase(key);
  waiting_.insert_or_assign(key, std::move(pixels));
}

void TileCache::failed(const TileKey& key) { on_their_way_.erase(key); }

bool TileCache::upload(Textures& textures, std::size_t most) {
  for (; most > 0 && !waiting_.empty(); --most) {
    const auto first = waiting_.begin();
    const TilePixels& tile = first->second;
    const ImTextureID texture = textures.make(tile.width, tile.height, tile.pixels);
    tiles_.insert_or_assign(first->first, Tile{texture, ++clock_});
    waiting_.erase(first);
  }
  while (tiles_.size() > kMostTiles) give_up_oldest(textures);
  return !waiting_.empty();
}

void TileCache::give_up_oldest(Textures& textures) {
  const auto oldest =
      std::ranges::min_element(tiles_, {}, [](const auto& entry) { return entry.second.drawn; });
  textures.drop(oldest->second.texture);
  tiles_.erase(oldest);
}

void TileCache::forget_all(Textures& textures) {
  for (const auto& [key, tile] : tiles_) textures.drop(tile.texture);
  tiles_.clear();
  waiting_.clear();
  wanted_.clear();
  on_their_way_.clear();
}

}  // namespace howl::desk
