#pragma once

#include "src/report/canvas.h"
#include "src/report/geometry.h"
#include "src/report/pictures.h"

namespace howl::picture {

Size page_size(const MapPicture& picture);
Size page_size(const SpectrumPicture& picture);
Size page_size(const PitchPicture& picture);
/// As tall as their content needs.
Size page_size(const RankingPicture& picture);
Size page_size(const SketchPicture& picture);
Size page_size(const SuspectsPicture& picture);

void draw_on(Canvas& canvas, const MapPicture& picture);
void draw_on(Canvas& canvas, const SpectrumPicture& picture);
void draw_on(Canvas& canvas, const PitchPicture& picture);
void draw_on(Canvas& canvas, const RankingPicture& picture);
void draw_on(Canvas& canvas, const SketchPicture& picture);
void draw_on(Canvas& canvas, const SuspectsPicture& picture);

}  // namespace howl::picture
