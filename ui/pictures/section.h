#pragma once

#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "ui/pictures/level_pyramid.h"

namespace howl::desk {

/// Columns of one level of a map.
struct SectionColumns {
  std::size_t level{};  ///< index into LevelPyramid::levels
  std::size_t first{};
  std::size_t end{};
  friend bool operator==(const SectionColumns&, const SectionColumns&) = default;
};

/// Those that lie in `time` (s), one at least, of the finest level that has no more than
/// kMostSectionColumns there, so that a stretch of any length is summed up in as short a time.
inline constexpr std::size_t kMostSectionColumns = 64;
SectionColumns section_columns(const LevelPyramid& map, const Interval& time);

/// Their mean, as energy: over Hz, or over orders where the map has orders, in which the lines of
/// an engine stand still while its speed changes. As exact as the map, half a dB a column. Empty
/// where the map is.
PowerSpectrum section_spectrum(const LevelPyramid& map, const SectionColumns& columns);

}  // namespace howl::desk
