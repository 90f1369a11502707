#include "src/record/judge_recorded.h"

#include <algorithm>

#include "src/analysis/analyse.h"
#include "src/analysis/speed_check.h"

namespace howl {

namespace {

void add_faults(const std::vector<std::string>& texts, Severity severity, TakeVerdict& verdict) {
  if (texts.empty()) return;
  verdict.worst = std::max(verdict.worst, severity);
  verdict.faults.insert(verdict.faults.end(), texts.begin(), texts.end());
}

}  // namespace

TakeVerdict judge_recorded(const std::filesystem::path& folder, const Take& take,
                           std::optional<int> cylinders) {
  TakeVerdict verdict;
  std::vector<std::string> of_speed_record;
  TakeAudio audio = open_take(folder, take, cylinders, of_speed_record);
  std::vector<std::string> against_speed;
  SoundSpeed heard;
  if (!audio.engine_off) heard = check_speed(audio, cylinders, against_speed);
  const std::vector<QualityFinding> findings = judge_quality(audio).findings;
  for (const QualityFinding& finding : findings)
    verdict.worst = std::max(verdict.worst, finding.severity);
  add_faults(warning_texts(findings), Severity::note, verdict);
  add_faults(of_speed_record, Severity::note, verdict);
  if (spoilt_by_clipping(findings)) return verdict;
  verdict.heard_rpm = heard.rpm;
  add_faults(against_speed, Severity::doubt, verdict);
  return verdict;
}

}  // namespace howl
