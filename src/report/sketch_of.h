#pragma once

#include <string_view>

#include "src/analysis/analysis.h"
#include "src/case/case.h"
#include "src/profile/profile.h"
#include "src/report/pictures.h"

namespace howl {

/// "Seen from below": what the picture of a view is called.
std::string_view view_title(SketchPlace::View view);

/// The ranking on the sketch of the vehicle. A place is the profile's, or else the case's; points
/// of the profile that were not recorded are drawn without a name, and ranked points without a
/// place are listed in a note.
SketchPicture sketch_of(const Case& value, const Profile& profile, const Analysis& analysis);

}  // namespace howl
