#include "ui/panels/sound_map.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "src/report/scale.h"
#include "ui/pictures/sound_store.h"
#include "ui/state/desk.h"
#include "ui/state/shown_sound.h"

namespace howl::desk {
namespace {

/// Where the cells of a tile's level lie in time and frequency.
struct Raster {
  double first{};
  double step{};

  double value(double index) const { return first + index * step; }
  double index(double value) const { return (value - first) / step; }
};

Raster columns_at(const LevelPyramid& map, std::size_t level) {
  const double merged = std::exp2(static_cast<double>(level));
  return {map.first_time + 0.5 * (merged - 1) * map.time_step, merged * map.time_step};
}

Raster rows_at(const LevelPyramid& map, std::size_t level) {
  const double merged = std::exp2(static_cast<double>(level));
  return {0.5 * (merged - 1) * map.row_step, merged * map.row_step};
}

/// How often to halve so that a cell is about a pixel, or larger.
std::size_t halvings(double per_pixel, double step, std::size_t most) {
  const double wanted = std::floor(std::log2(std::max(per_pixel / step, 1.0)));
  return std::min(static_cast<std::size_t>(wanted), most);
}

struct Patch {
  Interval time;
  Interval row;
};

void put_patch(const Plot& plot, const LevelPyramid& map, const TileKey& key, ImTextureID texture,
               const Patch& patch) {
  const Raster columns = columns_at(map, key.level);
  const Raster rows = rows_at(map, key.row_level);
  constexpr double side = kTileSide + 1;
  const auto u = [&](double time) {
    const double index = columns.index(time) - static_cast<double>(key.column * kTileSide);
    return static_cast<float>((index + 0.5) / side);
  };
  const auto v = [&](double value) {
    const double index = rows.index(value) - static_cast<double>(key.row * kTileSide);
    return static_cast<float>((side - 0.5 - index) / side);
  };
  const ImVec2 low = plot.at(patch.time.low, patch.row.low);
  const ImVec2 high = plot.at(patch.time.high, patch.row.high);
  ImGui::GetWindowDrawList()->AddImage(texture, {low.x, high.y}, {high.x, low.y},
                                       {u(patch.time.low), v(patch.row.high)},
                                       {u(patch.time.high), v(patch.row.low)});
}

/// The tile itself, or what a coarser one shows of its place.
void put_tile(const Plot& plot, const LevelPyramid& map, TileCache& tiles, TileKey key,
              const Patch& patch) {
  if (const ImTextureID texture = tiles.find(key)) return put_patch(plot, map, key, texture, patch);
  const double middle = 0.5 * (patch.time.low + patch.time.high);
  while (++key.level < map.depth()) {
    const double index = columns_at(map, key.level).index(middle);
    key.column = static_cast<std::size_t>(std::max(0.0, index)) / kTileSide;
    if (const ImTextureID texture = tiles.peek(key))
      return put_patch(plot, map, key, texture, patch);
  }
}

struct Tiling {
  Raster raster;
  std::size_t first{};
  std::size_t last{};

  Interval span(std::size_t tile, const Interval& shown) const {
    // The first cell reaches back to the beginning, half a block before its middle.
    const double low = tile == 0 ? shown.low : raster.value(static_cast<double>(tile * kTileSide));
    const double high = raster.value(static_cast<double>((tile + 1) * kTileSide));
    return {std::max(low, shown.low), std::min(high, shown.high)};
  }
};

Tiling tiling(const Raster& raster, const Interval& shown, double cells) {
  const auto tile_of = [&](double value) {
    const double index = std::clamp(raster.index(value), 0.0, std::max(0.0, cells - 1));
    return static_cast<std::size_t>(index) / kTileSide;
  };
  return {raster, tile_of(shown.low), tile_of(shown.high)};
}

}  // namespace

void put_map(Frame& frame, const Plot& plot, const TakeSound& sound, MapKind kind) {
  const LevelPyramid& map = kind == MapKind::orders ? *sound.orders : sound.spectrogram;
  if (map.levels.empty() || map.all_columns == 0) return;
  const Interval time{plot.x.low, plot.x.high};
  const Interval row{plot.y.low, plot.y.high};
  constexpr std::size_t most_row_halvings = 5;
  TileKey key{sound.id, kind, 0, 0, 0, 0, frame.theme().dark};
  key.level =
      halvings(time.width() / static_cast<double>(plot.box.w), map.time_step, map.depth() - 1);
  key.level = kind == MapKind::orders ? std::max(key.level, map.finest) : key.level;
  key.row_level =
      halvings(row.width() / static_cast<double>(plot.box.h), map.row_step, most_row_halvings);
  const Tiling across =
      tiling(columns_at(map, key.level), time,
             static_cast<double>(map.all_columns) / std::exp2(static_cast<double>(key.level)));
  const Tiling down =
      tiling(rows_at(map, key.row_level), row,
             static_cast<double>(map.rows()) / std::exp2(static_cast<double>(key.row_level)));
  const InsidePlot inside(plot);
  for (key.column = across.first; key.column <= across.last; ++key.column)
    for (key.row = down.first; key.row <= down.last; ++key.row)
      put_tile(plot, map, frame.sounds.tiles(), key,
               {across.span(key.column, time), down.span(key.row, row)});
}

std::optional<double> level_at(const LevelPyramid& map, double seconds, double row_value) {
  if (map.levels.empty()) return std::nullopt;
  const LevelGrid& grid = map.levels.front();
  const double column = std::round(columns_at(map, map.finest).index(seconds));
  const double row = std::round(row_value / map.row_step);
  if (column < 0 || row < 0 || column >= static_cast<double>(grid.columns) ||
      row >= static_cast<double>(grid.rows))
    return std::nullopt;
  return byte_level_db(grid.at(static_cast<std::size_t>(column), static_cast<std::size_t>(row)));
}

std::string cursor_words(const TakeSound& sound, double seconds, double row, bool as_order) {
  const auto rpm = rpm_at(sound, seconds);
  std::string words = fmt::format("{:.2f} s", seconds);
  if (!as_order || rpm)
    words += fmt::format(" · {:.1f} Hz", as_order ? row * rpm.value_or(0) / 60 : row);
  if (rpm)
    words += fmt::format(" · order {:.2f} · {:.0f} rpm", as_order ? row : 60 * row / *rpm, *rpm);
  else if (!sound.engine_off)
    words += " · speed not known";
  const auto level = level_at(as_order ? *sound.orders : sound.spectrogram, seconds, row);
  if (level && (!as_order || rpm)) words += " · " + picture::format_number(*level, 1) + " dB";
  return words;
}

}  // namespace howl::desk
