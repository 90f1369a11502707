#pragma once

#include "src/report/canvas.h"
#include "src/report/frame.h"
#include "src/report/pictures.h"

namespace howl::picture {

/// The map as pixels for `panel`, two to a unit, transparent where nothing is known. Cells wider
/// than a few units keep their edges; finer ones are joined smoothly; where cells are finer than
/// pixels, the loudest shows. `level_low_db` < `level_high_db` are the ends of the colour scale.
Image heat_image(const Heatmap& map, const Panel& panel, const PlotAxis& x, const PlotAxis& y,
                 double level_low_db, double level_high_db);

}  // namespace howl::picture
