#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/cli/session.h"
#include "src/keeping/add_take.h"

namespace howl {

/// What is to be said of a stored take's speed record, how well it was recorded, and what its sound
/// says against the speed that was written down, as `analyse` will judge it too: said at once,
/// while the vehicle is still there. The reference channel is judged as well.
std::vector<std::string> take_warnings(const std::filesystem::path& folder, const Take& take,
                                       std::optional<int> cylinders);

/// Says on standard error what to heed while such a take is recorded; nothing where the vehicle
/// stands.
void tell_cautions(const Take& planned);

/// Says on standard error what is to be said of a stored take: `warnings`, and those above.
void tell_take_warnings(const std::filesystem::path& folder, const Take& take,
                        std::vector<std::string> warnings, const Session& session);

/// The speed that was found, and how to put it right.
std::string found_lines(const FoundSpeed& found, const std::filesystem::path& folder,
                        const std::string& take);

/// Says that a take was stored ("Added t01: …"; `deed` is the first word), and on standard error
/// all that its user should know of it.
void tell_stored_take(std::string_view deed, const std::filesystem::path& folder,
                      const AddedTake& added, const Session& session);

}  // namespace howl
