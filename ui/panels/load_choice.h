#pragma once

#include <optional>
#include <string>

#include "src/analysis/analysis.h"
#include "src/profile/load_tests.h"
#include "ui/look/flow.h"

namespace howl::desk {

/// "air conditioning: on"
std::string load_words(const std::string& key, const std::string& value);
/// All of a take's, "background" and its road speed among them; a dash where nothing was said.
std::string load_words(const TakeResult& take);

/// A button that says in which state of a load test a take was recorded. Each press gives the next:
/// not said (empty), with the load, without it.
std::optional<std::string> load_button(Frame& frame, const std::string& name, const LoadTest& test,
                                       const std::string& now, Flow& flow);

}  // namespace howl::desk
