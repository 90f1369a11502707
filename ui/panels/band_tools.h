#pragma once

#include <string_view>

#include "src/analysis/analysis.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"

namespace howl::desk {

/// The suspect band as it is given by hand.

/// A button that has the next drag mark it, and one that tells it and opens the sheet in which it
/// is typed; taken off the left of `area`. Nothing where a band cannot be given.
void put_band_tools(Frame& frame, Area& area);
/// The least width in which that shows anything.
float band_tools_least(const Frame& frame);
/// The second of them alone, at the right of `area`.
void put_band_button(Frame& frame, Area& area);

/// Of a plot that is touched, whose axis `values` runs along the mouse's way: whether the mouse
/// marks the band in it now, so that nothing else may be done with it.
bool mark_band(Frame& frame, const Touch& touched, std::string_view plot,
               AnalysisRequest::Band::Unit unit, double value);

/// What is marked of `box` at the moment, with its limits.
void put_marked_band(Frame& frame, const Area& box, const Area& marked);

}  // namespace howl::desk
