#include "ui/pictures/section.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace howl::desk {
namespace {

/// Columns of a level that are centred within a time.
SectionColumns columns_within(const LevelPyramid& map, std::size_t level, const Interval& time) {
  const double wide = std::exp2(static_cast<double>(map.finest + level));
  const double step = wide * map.time_step;
  const double begin = map.first_time + 0.5 * (wide - 1.0) * map.time_step;
  const auto last = static_cast<double>(map.levels[level].columns - 1);
  const double first = std::clamp(std::ceil((time.low - begin) / step), 0.0, last);
  const double end = std::clamp(std::floor((time.high - begin) / step), first, last) + 1.0;
  return {level, static_cast<std::size_t>(first), static_cast<std::size_t>(end)};
}

}  // namespace

SectionColumns section_columns(const LevelPyramid& map, const Interval& time) {
  SectionColumns found;
  for (std::size_t level = 0; level < map.levels.size(); ++level) {
    if (map.levels[level].columns == 0) continue;
    found = columns_within(map, level, time);
    if (found.end - found.first <= kMostSectionColumns) break;
  }
  return found;
}

PowerSpectrum section_spectrum(const LevelPyramid& map, const SectionColumns& columns) {
  PowerSpectrum spectrum{.spacing = map.row_step,
                         .window = WindowKind::hann,
                         .noise_bandwidth_bins = 1.5,
                         .effective_averages = static_cast<double>(columns.end - columns.first),
                         .power = {}};
  if (columns.level >= map.levels.size() || columns.end <= columns.first) return spectrum;
  const LevelGrid& grid = map.levels[columns.level];
  spectrum.power.assign(grid.rows, 0.0);
  for (std::size_t c = columns.first; c < columns.end; ++c)
    for (std::size_t r = 0; r < grid.rows; ++r) spectrum.power[r] += level_power(grid.at(c, r));
  for (double& power : spectrum.power) power /= spectrum.effective_averages;
  return spectrum;
}

}  // namespace howl::desk
