#include "src/record/judge_recorded.h"

#include <algorithm>
#include <iterator>

#include "src/analysis/analyse.h"
#include "src/analysis/speed_check.h"

namespace howl {

namespace {

void add_quality(const TakeAudio& audio, TakeVerdict& verdict) {
  const std::vector<QualityFinding> findings = judge_quality(audio).findings;
  for (const QualityFinding& finding : findings)
    verdict.worst = std::max(verdict.worst, finding.severity);
  std::ranges::move(warning_texts(findings), std::back_inserter(verdict.faults));
}

void add_speed(const TakeAudio& audio, std::optional<int> cylinders, TakeVerdict& verdict) {
  if (audio.engine_off) return;
  std::vector<std::string> warnings;
  verdict.heard_rpm = check_speed(audio, cylinders, warnings).rpm;
  if (!warnings.empty()) verdict.worst = std::max(verdict.worst, Severity::doubt);
  std::ranges::move(warnings, std::back_inserter(verdict.faults));
}

}  // namespace

TakeVerdict judge_recorded(const std::filesystem::path& folder, const Take& take,
                           std::optional<int> cylinders) {
  TakeVerdict verdict;
  std::vector<std::string> of_speed_record;
  const TakeAudio audio = open_take(folder, take, cylinders, of_speed_record);
  add_quality(audio, verdict);
  std::ranges::move(of_speed_record, std::back_inserter(verdict.faults));
  add_speed(audio, cylinders, verdict);
  return verdict;
}

}  // namespace howl
