#pragma once

#include <array>
#include <cstddef>
#include <string_view>
#include <vector>

#include "src/report/colour.h"

namespace howl::picture {

/// The look that all pictures share.
struct Palette {
  Colour paper;
  Colour ink;      ///< text and what matters
  Colour quiet;    ///< subtitles, axis names, notes
  Colour rule;     ///< axis lines, leaders
  Colour grid;     ///< light grid
  Colour band;     ///< lines and words about the suspect band
  Colour shade;    ///< the suspect band's area
  Colour unknown;  ///< where nothing is known
};
const Palette& palette();

inline constexpr double kTitleSize = 19;
inline constexpr double kSubtitleSize = 13;
inline constexpr double kTextSize = 12;
inline constexpr double kNoteSize = 11;
inline constexpr double kLineHeight = 15;  ///< of text of kTextSize

enum class Shape { disc, square, triangle, diamond, ring, cross };

/// One series differs from the next in lightness, hue, dash and shape, so that grey print and
/// colour deficiency leave it recognisable.
struct SeriesStyle {
  Colour colour;
  Shape shape;
  std::vector<double> dash;
};
inline constexpr std::size_t kMaxSeries = 6;
/// `index` < kMaxSeries.
const SeriesStyle& series_style(std::size_t index);

/// Dash of the curve of a law: solid "locked", long dashes "belt", dashes "fixed", dots "road",
/// dash-dot "free" and anything else.
std::vector<double> law_dash(std::string_view law);

}  // namespace howl::picture
