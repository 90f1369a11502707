#pragma once

#include <string>

#include "src/profile/profile.h"

namespace howl {

/// What a profile expects, for a technician to read: each source with what turns it and the orders
/// at which it would howl, with their spread; what each load test does to it; how to note a load.
/// Empty where the profile has no sources.
std::string profile_table(const Profile& profile);

}  // namespace howl
