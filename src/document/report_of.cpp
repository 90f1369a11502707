#include "src/document/report_of.h"

#include <fmt/format.h>

#include <filesystem>
#include <optional>
#include <string>
#include <system_error>
#include <utility>

#include "src/case/about.h"
#include "src/document/material.h"
#include "src/document/sections.h"
#include "src/files/sha256.h"
#include "src/handover/manifest.h"
#include "src/profile/case_profile.h"
#include "src/reasoning/diagnose.h"
#include "src/reasoning/workshop_facts.h"
#include "src/report/finding.h"
#include "src/version.h"

namespace howl::document {
namespace {

namespace fs = std::filesystem;

Progress part_of_report(const Progress& progress, double from, double to) {
  return [&progress, from, to](double fraction, std::string_view stage) {
    progress(from + fraction * (to - from), stage);
  };
}

struct FactsFile {
  std::string sha256;
  bool shops_own{};
};

FactsFile facts_file() {
  const std::optional<fs::path> own = shop_facts_file();
  std::error_code ignored;
  if (own && fs::exists(*own, ignored)) return {sha256_of_file(*own), true};
  return {sha256_of_text(built_in_workshop_facts()), false};
}

/// The report's own case against another one, which came after it or before.
ComparedCase compared_with(const CaseAtHand& own, const fs::path& folder, bool is_later,
                           const ReportRequest& request, const Progress& progress) {
  ComparedCase other{load_case(folder), {}};
  const Analysis analysis =
      analyse(folder, other.value, request.analysis, part_of_report(progress, 0.0, 0.6));
  const CaseAtHand at_hand{folder, other.value, analysis};
  other.comparison =
      compare_cases(is_later ? own : at_hand, is_later ? at_hand : own,
                    {request.analysis, request.renamed}, part_of_report(progress, 0.6, 1.0));
  return other;
}

void add_compared(Material& material, const ReportRequest& request, const Progress& progress) {
  const std::size_t count = request.after.size() + request.before.size();
  const double share = 1.0 / static_cast<double>(std::max<std::size_t>(1, count));
  double done = 0.0;
  const auto add = [&](const fs::path& folder, bool is_later, std::vector<ComparedCase>& to) {
    to.push_back(compared_with({material.folder, material.value, material.analysis}, folder,
                               is_later, request, part_of_report(progress, done, done + share)));
    done += share;
  };
  for (const fs::path& folder : request.after) add(folder, true, material.later);
  for (const fs::path& folder : request.before) add(folder, false, material.earlier);
}

std::vector<Section> sections_of(const Material& material, bool with_clips,
                                 const Progress& progress) {
  std::vector<Section> sections{front_section(material), suspects_section(material),
                                points_section(material)};
  sections.push_back(tones_section(material, with_clips, progress));
  sections.push_back(blows_section(material));
  sections.push_back(loads_section(material));
  sections.push_back(workshop_section(material));
  sections.push_back(next_section(material));
  for (std::size_t i = 0; i < material.later.size(); ++i)
    sections.push_back(later_section(material, i));
  for (std::size_t i = 0; i < material.earlier.size(); ++i)
    sections.push_back(earlier_section(material, i));
  sections.push_back(takes_section(material));
  sections.push_back(method_section());
  sections.push_back(limits_section());
  sections.push_back(settings_section(material));
  return sections;
}

std::string manifest_of(const fs::path& folder, const Case& value, const ReportRequest& request,
                        const Material& material) {
  std::vector<handover::ManifestCase> cases{handover::manifest_case(folder, value)};
  for (std::size_t i = 0; i < request.after.size(); ++i)
    cases.push_back(handover::manifest_case(request.after[i], material.later[i].value));
  for (std::size_t i = 0; i < request.before.size(); ++i)
    cases.push_back(handover::manifest_case(request.before[i], material.earlier[i].value));
  return handover::manifest_json({.program = std::string("howlpoint ") + version,
                                  .workshop_facts_sha256 = material.facts_sha256,
                                  .band = request.analysis.band,
                                  .cases = std::move(cases)});
}

}  // namespace

Document report_of(const fs::path& folder, const Case& value, const Analysis& analysis,
                   const ReportRequest& request, const Progress& progress) {
  const Profile profile = case_profile(folder, value);
  const std::vector<WorkshopFact> facts = load_workshop_facts();
  FactsFile file = facts_file();
  Material material{.folder = folder,
                    .value = value,
                    .profile = profile,
                    .facts = facts,
                    .facts_sha256 = std::move(file.sha256),
                    .shops_own_facts = file.shops_own,
                    .analysis = analysis,
                    .later = {},
                    .earlier = {},
                    .request = request.analysis};
  const bool compares = !request.after.empty() || !request.before.empty();
  add_compared(material, request, part_of_report(progress, 0.0, 0.7));
  Document document;
  document.title = value.title;
  document.subject = finding_of(analysis).where;
  document.author = value.about.recorded_by;
  document.created = value.created;
  document.program = std::string("howlpoint ") + version;
  document.sections = sections_of(material, request.with_clips,
                                  part_of_report(progress, compares ? 0.7 : 0.0, 0.95));
  progress(0.95, "hashing the files of the case");
  document.manifest = manifest_of(folder, value, request, material);
  return document;
}

Document report_of(const fs::path& folder, const ReportRequest& request, const Progress& progress) {
  const Case value = load_case(folder);
  const Analysis analysis =
      diagnose(folder, value, request.analysis, part_of_report(progress, 0.0, 0.6));
  return report_of(folder, value, analysis, request, part_of_report(progress, 0.6, 1.0));
}

}  // namespace howl::document
