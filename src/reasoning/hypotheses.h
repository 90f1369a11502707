#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "src/profile/profile.h"
#include "src/reasoning/inference.h"

namespace howl {

/// One way in which the howl may have come about: a source of the profile, with one of its causes.
/// `source` and `cause` are places in their lists; `source` is none for something that is not in
/// the profile, `cause` for a source without known causes.
struct Hypothesis {
  std::optional<std::size_t> source;
  std::optional<std::size_t> cause;
};

/// All of them, that of the rest last.
std::vector<Hypothesis> hypotheses_of(const Profile& profile);

/// How likely each is before anything is known: sources by how often they are at fault, causes by
/// their shares. The rest gets kChanceOfTheRest (our choice: profiles are generic, and about one
/// complaint in eight comes from something that nobody listed).
inline constexpr double kChanceOfTheRest = 0.12;
Belief prior_of(const Profile& profile, const std::vector<Hypothesis>& hypotheses);

/// Belief summed over causes: one for each source of the profile, the rest last.
Belief by_source(const std::vector<Hypothesis>& hypotheses, const Belief& belief,
                 std::size_t sources);

/// Id of its cause; empty where it has none.
std::string cause_of(const Profile& profile, const Hypothesis& hypothesis);

}  // namespace howl
