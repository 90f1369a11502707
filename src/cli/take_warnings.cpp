#include "src/cli/take_warnings.h"

#include "src/analysis/analyse.h"
#include "src/analysis/quality.h"

namespace howl {

namespace {

std::vector<std::string> channel_warnings(const std::filesystem::path& folder, const Take& take,
                                          std::optional<int> cylinders) {
  std::vector<std::string> of_speed;  // said by add_take() already
  return warning_texts(judge_quality(open_take(folder, take, cylinders, of_speed)).findings);
}

}  // namespace

std::vector<std::string> take_warnings(const std::filesystem::path& folder, const Take& take,
                                       std::optional<int> cylinders) {
  std::vector<std::string> warnings = channel_warnings(folder, take, cylinders);
  if (!take.reference_channel) return warnings;
  Take reference = take;
  reference.channel = *take.reference_channel;
  for (const std::string& text : channel_warnings(folder, reference, cylinders))
    warnings.push_back("reference channel " + text);
  return warnings;
}

}  // namespace howl
