#pragma once

#include <optional>
#include <string>

namespace howl {

/// A probability as a percentage that never claims certainty: "97 %", ">99 %", "<1 %"; "-" if
/// unknown.
std::string percent_text(double probability);
std::string percent_text(const std::optional<double>& probability);

}  // namespace howl
