#pragma once

#include "ui/look/frame.h"

namespace howl::desk {

/// Where another tone is picked than ranking and suspects are about: says so at the top of `rest`,
/// with a way back to that.
void put_about_line(Frame& frame, Area& rest);

}  // namespace howl::desk
