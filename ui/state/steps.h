#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/comparison.h"
#include "src/case/case.h"
#include "src/profile/profile.h"

namespace howl::desk {

/// The job, in the order in which it runs.
enum class Step { complaint, points, record, listen, pitch, where, what, proof, report };
inline constexpr std::size_t kSteps = 9;
inline constexpr std::array<Step, kSteps> kAllSteps{Step::complaint, Step::points, Step::record,
                                                    Step::listen,    Step::pitch,  Step::where,
                                                    Step::what,      Step::proof,  Step::report};

std::string_view step_name(Step step);  ///< "Complaint"
std::string_view step_asks(Step step);  ///< the question that it answers
std::string_view step_key(Step step);   ///< "what", as a script writes it
std::optional<Step> step_of(std::string_view key);

enum class StepState { open, done, look };  ///< to do; done; done or not, something is wrong

struct StepStatus {
  StepState state{};
  std::string words;  ///< a few words, "5 of 9 points"
};

/// How far the job has come, one a step. `analysis` is null until there is one.
std::array<StepStatus, kSteps> step_statuses(const Case& value, const Profile& profile,
                                             const Analysis* analysis);

/// Of the proof, where a case of before the repair was compared.
StepStatus compared_status(const Comparison& comparison);

/// Probe points of the profile and of the case, once each, in the order in which they are probed.
std::vector<ProbePoint> all_points(const Case& value, const Profile& profile);
/// Takes at a point; background takes are not counted.
/// The first of them that nobody has probed.
std::optional<std::string> next_unprobed(const Case& value, const Profile& profile);
/// Whether all takes are of one point, so that no place can be told from another.
bool probed_one_only(const Case& value);
std::size_t takes_at(const Case& value, std::string_view point);

}  // namespace howl::desk
