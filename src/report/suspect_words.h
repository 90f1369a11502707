#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "src/analysis/verdict.h"

namespace howl {

/// The four strongest of 1 dB or more, either way; none for what is not in the profile. How often a
/// suspect is at fault before anything is known counts too, but was not found on this vehicle, and
/// is not shown.
std::vector<EvidenceItem> telling_evidence(const Suspect& suspect);
/// What all else that was found weighs together, dB; none where it is less than 1 dB.
std::optional<double> weight_of_the_rest_db(const Suspect& suspect);
/// "most likely: fluid low (45 %)": the likeliest cause, with its chance if the suspect is at
/// fault. Empty where the profile tells no causes apart.
std::string cause_words(const Suspect& suspect);
/// Those with a chance of 2 % or more, likeliest first; `least` to `most` of them, if there are.
std::vector<Suspect> suspects_worth_naming(const Verdict& verdict, std::size_t least,
                                           std::size_t most);

}  // namespace howl
