#pragma once

#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/entry/typed_take.h"

namespace howl {

/// What of a take is to become otherwise, as typed; what was not given stays.
struct TypedChange {
  TypedTake given;
  /// "background", "note", "reference-channel", "road-speed", or what was loaded ("ac").
  std::vector<std::string> forget;
};

/// The take as it is to be typed once it is changed, for facts_of(). A speed takes the place of the
/// whole speed, a load that of the same name. Throws Error (command fault) where nothing is to
/// change, or something to be forgotten is not there.
TypedTake typed_after(const Take& take, const TypedChange& change);

}  // namespace howl
