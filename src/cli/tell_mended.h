#pragma once

#include <filesystem>

#include "src/cli/session.h"

namespace howl {

/// Mends what recordings of a case were never finished, and says so on standard error. A case that
/// cannot be read or written is left for the command itself to complain of.
void tell_mended(const std::filesystem::path& folder, const Session& session);

}  // namespace howl
