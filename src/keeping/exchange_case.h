#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/speed/speed_of_take.h"

namespace howl {

/// In the case folder: recordings and logs that no take uses any more, because it was taken out of
/// the case or an edit was undone. Nothing is deleted; they lie there as in the case folder itself.
inline constexpr std::string_view set_aside_folder = "set-aside";

/// Another program wrote to the case since it was read.
class CaseChangedElsewhere : public Error {
 public:
  explicit CaseChangedElsewhere(const std::filesystem::path& folder);
};

/// Whether two cases would be stored alike.
bool same_case(const Case& a, const Case& b);

/// Stores `wanted`, if what is stored is still `expected`. Files of takes that go are set aside,
/// and those of takes that come back are fetched from there. Throws CaseChangedElsewhere, and what
/// update_case() throws; then the case is as it was.
void exchange_case(const std::filesystem::path& folder, const Case& expected, const Case& wanted);

/// The case without that take, for exchange_case(); its probe point stays. Throws Error (command
/// fault) that names the takes there are.
Case taken_out(Case value, const std::string& id);

struct ChangedTake {
  Case value;  ///< as it is stored now
  std::vector<std::string> warnings;
  std::optional<FoundSpeed> found{};  ///< where the speed is to be found in the sound
};

/// Gives a take of `expected` other facts: those of `facts.take`, and `facts.log` for a logged
/// speed, unless the log that the take has is to stay. Recording, name and format stay. It is
/// judged as add_take() judges a new one. Throws what add_take() throws, and CaseChangedElsewhere;
/// then the case is as it was.
ChangedTake change_take(const std::filesystem::path& folder, const Case& expected,
                        const std::string& id, const NewTake& facts);

}  // namespace howl
