#pragma once

#include <optional>
#include <string>

#include "src/profile/load_tests.h"
#include "ui/look/flow.h"

namespace howl::desk {

/// A button that says in which state of a load test a take was recorded. Each press gives the next:
/// not said (empty), with the load, without it.
std::optional<std::string> load_button(Frame& frame, const std::string& name, const LoadTest& test,
                                       const std::string& now, Flow& flow);

}  // namespace howl::desk
