#pragma once

#include <span>
#include <vector>

namespace howl {

/// For each block of a take, whether the probe held: false where the whole signal's power drops 20
/// dB below what is usual within 4 s around (the upper quartile, so that neither a slow change of
/// speed nor a long loss passes for the usual). Times in s, rising; as many totals.
std::vector<bool> in_contact(std::span<const double> times, std::span<const double> totals);

}  // namespace howl
