#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace howl {

/// The known name that a mistyped one probably means: equal but for case, a beginning or part of
/// one, or few typing errors away (Levenshtein 1966). None if nothing is near.
std::optional<std::string> nearest_name(std::string_view typed, std::span<const std::string> known);

/// A name without blanks around it, and with one between its words: what looks alike is alike.
std::string single_spaced(std::string_view name);

/// Whether two names differ in nothing but the case of ASCII letters.
bool same_but_for_case(std::string_view a, std::string_view b);

/// "did you mean 'oil pan'? " with the space after it, or nothing.
std::string did_you_mean(std::string_view typed, std::span<const std::string> known);

std::string joined(std::span<const std::string> names, std::string_view separator);
/// 'oil pan', 'alternator'
std::string quoted_list(std::span<const std::string> names);

}  // namespace howl
