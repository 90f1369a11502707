#include "src/report/warning_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "src/report/gathered.h"
#include "src/report/result_words.h"
#include "src/report/take_list.h"

namespace howl {

std::vector<std::string> warnings_of_case(const Analysis& analysis) {
  const std::vector<std::string>& told = analysis.verdict.contradictions;
  std::vector<std::string> warnings;
  for (const std::string& warning : analysis.warnings)
    if (std::ranges::find(told, warning) == told.end()) warnings.push_back(warning);
  return warnings;
}

std::vector<std::string> warnings_of_takes(const Analysis& analysis,
                                           std::span<const std::string> takes) {
  Gathered gathered;
  for (const TakeResult& take : analysis.takes) {
    if (std::ranges::find(takes, take.id) == takes.end()) continue;
    for (const std::string& warning : warnings_of(take)) gathered.say(take.id, warning);
  }
  return gathered.texts([](const std::vector<std::string>& ids) { return take_list(ids); });
}

std::vector<std::string> warnings_of_takes(const Analysis& analysis) {
  std::vector<std::string> ids;
  for (const TakeResult& take : analysis.takes) ids.push_back(take.id);
  return warnings_of_takes(analysis, ids);
}

std::vector<std::string> warnings_of_points(const Analysis& analysis) {
  Gathered gathered;
  for (const RankedPoint& point : analysis.ranking)
    for (const std::string& warning : point.warnings) gathered.say(point.point, warning);
  return gathered.texts([](const std::vector<std::string>& points) {
    return fmt::format("{}", fmt::join(points, ", "));
  });
}

}  // namespace howl
