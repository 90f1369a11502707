#pragma once

#include "src/report/canvas.h"

struct _cairo;

namespace howl::picture {

/// A canvas of `size` units that draws on a page of somebody else's, in the units and at the place
/// that its transformation says. finish() is not for it.
Canvas canvas_on(_cairo* context, Size size);

}  // namespace howl::picture
