#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/analysis/comparison.h"

namespace howl {

/// What tables and reports say of a comparison, in the same words. Unknown reads "-".

/// "-43", "< -81" where it was not heard
std::string compared_level_text(const std::optional<double>& level, double below);
/// "+3", "0", "-24"
std::string signed_text(double value, int decimals = 0);
std::string signed_text(const std::optional<double>& value);
/// "-24 (-28 … -20)", "< -31" where only an upper bound is known.
std::string change_text(const std::optional<double>& change, const ChangeRange& ci);
/// "order 10.00", "300 Hz"; the engine's own with " firing"
std::string tone_name(const ComparedTone& tone);
/// Name, level before, level after, change, change to the rest, tone-to-noise ratios, what became.
std::vector<std::string> tone_row(const ComparedTone& tone);

/// Why prominent tones are undetermined, each reason once: "330 Hz, 120 Hz: nothing shows that …".
std::vector<std::string> reasons_undetermined(const std::vector<const ComparedTone*>& tones);

}  // namespace howl
