#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>
#include <string>
#include <vector>

#include "src/document/sections.h"
#include "src/profile/load_tests.h"
#include "src/reasoning/entered_facts.h"

namespace howl::document {
namespace {

/// "a, b, c and 4 more"
std::string names_of(const std::vector<std::string>& names, std::optional<std::size_t> most) {
  const std::size_t shown = std::min(names.size(), most.value_or(names.size()));
  const std::string text =
      fmt::format("{}", fmt::join(names.begin(), names.begin() + static_cast<long>(shown), ", "));
  return shown == names.size() ? text : fmt::format("{} and {} more", text, names.size() - shown);
}

void add_names(std::vector<std::string>& open, const std::string& what,
               const std::vector<std::string>& names, std::optional<std::size_t> most) {
  if (!names.empty()) open.push_back(fmt::format("{}: {}.", what, names_of(names, most)));
}

std::vector<std::string> points_left_out(const Material& material) {
  std::set<std::string> recorded;
  for (const TakeResult& take : material.analysis.takes)
    if (!take.background) recorded.insert(take.point);
  std::vector<std::string> left;
  const auto look = [&](const std::vector<ProbePoint>& points) {
    for (const ProbePoint& point : points)
      if (recorded.insert(point.name).second) left.push_back(point.name);
  };
  look(material.value.points);
  look(material.profile.points);
  return left;
}

std::vector<std::string> loads_left_out(const Material& material) {
  std::vector<std::string> left;
  for (const LoadTest& test : load_tests()) {
    const bool done = std::ranges::find(material.analysis.load_changes, test.key,
                                        &LoadChange::test) != material.analysis.load_changes.end();
    if (!done && is_test_possible(material.profile, test.key)) left.push_back(test.title);
  }
  return left;
}

/// By their question for a reader; by what is typed to enter them where all are listed.
std::vector<std::string> facts_left_out(const Material& material, bool by_question) {
  std::vector<std::string> left;
  for (const WorkshopFact& fact : facts_for(material.profile.sources, material.facts))
    if (std::ranges::find(material.value.evidence, fact.key, &WorkshopEvidence::key) ==
        material.value.evidence.end())
      left.push_back(by_question ? fact.question : fact.key);
  return left;
}

bool runs(const TakeResult& take) { return !take.engine_off && !take.background; }

/// Speeds of takes within 6 % are one speed (is_hold() in src/analysis/take_audio.h).
bool speed_changes(const Analysis& analysis) {
  constexpr double one_speed = 1.06;
  double low = 1e12;
  double high = 0.0;
  for (const TakeResult& take : analysis.takes) {
    if (!runs(take)) continue;
    low = std::min(low, take.rpm_min);
    high = std::max(high, take.rpm_max);
  }
  return high > one_speed * low;
}

bool point_repeated(const Material& material) {
  for (const RankedPoint& point : material.analysis.ranking)
    if (point.takes.size() > 1) return true;
  return false;
}

bool moved(const Case& value) {
  return std::ranges::any_of(value.takes, [](const Take& take) {
    return take.road_speed_kmh.value_or(0.0) > 0.0 ||
           std::holds_alternative<LoggedSpeed>(take.speed);
  });
}

}  // namespace

std::vector<std::string> not_tested(const Material& material,
                                    std::optional<std::size_t> most_names) {
  std::vector<std::string> open;
  add_names(open, "Probe points without a take", points_left_out(material), most_names);
  add_names(open, "Load tests", loads_left_out(material), most_names);
  add_names(open, "Workshop facts", facts_left_out(material, most_names.has_value()), most_names);
  const Analysis& analysis = material.analysis;
  if (analysis.takes.empty()) return open;
  if (!speed_changes(analysis))
    open.emplace_back("Whether the pitch follows the engine: all takes are at one speed.");
  if (!point_repeated(material))
    open.emplace_back("How much hand and probe matter: no point was recorded twice.");
  if (std::ranges::none_of(analysis.takes, &TakeResult::background))
    open.emplace_back("What sounds while the suspect does not work: there is no background take.");
  if (!moved(material.value)) open.emplace_back("Driving: no take has a road speed.");
  return open;
}

}  // namespace howl::document
