#pragma once

#include "src/report/pictures.h"

namespace howl {

/// The part of a view in which its named spots lie, with some room around them, made to fill the
/// view: `most_aspect` is the width over height that it grows to if the view has the room. Shapes
/// are cut at its edge (Sutherland and Hodgman 1974). The view itself where little would be gained.
SketchView closer_view(const SketchView& view, double most_aspect);

}  // namespace howl
