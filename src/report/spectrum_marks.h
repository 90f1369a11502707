#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "src/report/callouts.h"
#include "src/report/canvas.h"
#include "src/report/frame.h"
#include "src/report/geometry.h"
#include "src/report/pictures.h"

namespace howl::picture {

/// A mark on the page; without a place it is a dot without words.
struct PlacedMark {
  Point at;
  std::string label;
  std::optional<PlacedCallout> place;
};

/// The marks that lie in the panel. Labels go to the loudest, at most a dozen, where they have
/// room.
std::vector<PlacedMark> placed_marks(const Canvas& canvas, std::span<const SpectrumMark> marks,
                                     const Panel& panel, std::span<const Box> obstacles,
                                     std::span<const Segment> curves);

/// How far the labels are from ideal: each without room counts 1000, each on a curve 1.
std::size_t untidiness(std::span<const PlacedMark> marks);
std::size_t without_label(std::span<const PlacedMark> marks);

void draw_marks(Canvas& canvas, std::span<const PlacedMark> marks);

}  // namespace howl::picture
