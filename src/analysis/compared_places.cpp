#include "src/analysis/compared_places.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "src/analysis/speed_check.h"

namespace howl {

namespace {

constexpr double kMostRestChangeDb = 6.0;
constexpr double kMostLeftOut = 0.2;
constexpr double kMuchShorter = 0.5;
constexpr std::size_t kFewestBands = 5;
constexpr double kLeastScatterDb = 0.5;

std::optional<std::string> fault_of(const AnalysedCase& of, std::size_t take,
                                    const TakeReading& reading) {
  const std::string& id = of.takes[take].id;
  if (of.changed.contains(id)) return id + " was changed since it was added, and proves nothing";
  if (reading.clipped) return id + " clips: the recorder was set too high";
  if (reading.share_left_out > kMostLeftOut)
    return fmt::format("{} has faults for {:.0f} % of its time, such as lost contact or no speed",
                       id, 100.0 * reading.share_left_out);
  return std::nullopt;
}

const TakeResult* result_of(const AnalysedCase& of, const std::string& id) {
  const auto& takes = of.analysis.takes;
  const auto found =
      std::find_if(takes.begin(), takes.end(), [&](const TakeResult& t) { return t.id == id; });
  return found == takes.end() ? nullptr : &*found;
}

/// The speed that the sound contradicts.
std::optional<std::string> wrong_speed_of(const AnalysedCase& of, const std::string& id) {
  const TakeResult* take = result_of(of, id);
  if (take == nullptr || !contradicts_speed(take->sound_speed)) return std::nullopt;
  return fmt::format("{} ran at {:.0f} rpm by its sound, not at the speed that is {}", id,
                     *take->sound_speed.rpm, take->speed_source);
}

/// Whether something but what was entered shows that the engine ran, at this speed.
bool speed_is_shown(const AnalysedCase& of, const std::string& id) {
  const TakeResult* take = result_of(of, id);
  return take != nullptr && (take->sound_speed.rpm || take->speed_source != "entered");
}

struct SideTakes {
  std::vector<std::size_t> kept;  // places in the row
  std::vector<std::string> ids;
  double seconds{};
  bool speed_shown{};
  std::map<int, std::vector<double>> rest_db;
};

SideTakes side_takes(const std::vector<std::size_t>& takes, const AnalysedCase& of,
                     const std::vector<TakeReading>& readings, const char* side,
                     std::vector<std::string>& doubts) {
  SideTakes result;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    const TakeReading& reading = readings[takes[i]];
    result.ids.push_back(of.takes[takes[i]].id);
    auto fault = fault_of(of, takes[i], reading);
    if (!fault) fault = wrong_speed_of(of, result.ids.back());
    if (fault) {
      doubts.push_back(fmt::format("{} {}; left out", side, *fault));
      continue;
    }
    result.kept.push_back(i);
    result.seconds += of.takes[takes[i]].seconds;
    result.speed_shown = result.speed_shown || speed_is_shown(of, result.ids.back());
    for (const auto& [band, level] : reading.rest_db) result.rest_db[band].push_back(level);
  }
  return result;
}

/// Changes of the bands that every take of both sides has.
std::vector<double> rest_changes(const SideTakes& before, const SideTakes& after) {
  std::vector<double> changes;
  for (const auto& [band, levels] : before.rest_db) {
    const auto other = after.rest_db.find(band);
    if (other == after.rest_db.end() || levels.size() != before.kept.size() ||
        other->second.size() != after.kept.size())
      continue;
    changes.push_back(mean(other->second) - mean(levels));
  }
  return changes;
}

double scatter_about(const std::vector<double>& values, double centre) {
  constexpr double normal_over_median = 1.4826;
  std::vector<double> distances;
  for (const double v : values) distances.push_back(std::abs(v - centre));
  return std::max(kLeastScatterDb, normal_over_median * median(distances));
}

void distrust(PlaceEvidence& evidence, std::string why) {
  evidence.place.trusted = false;
  evidence.place.doubts.push_back(std::move(why));
}

}  // namespace

PlaceEvidence place_evidence(const TakeRow& row, const AnalysedCase& before,
                             const AnalysedCase& after,
                             const std::vector<TakeReading>& readings_before,
                             const std::vector<TakeReading>& readings_after) {
  PlaceEvidence evidence;
  evidence.place.point = row.point;
  evidence.place.condition = row.condition;
  evidence.place.trusted = true;
  SideTakes was = side_takes(row.before, before, readings_before, "before:", evidence.place.doubts);
  SideTakes is = side_takes(row.after, after, readings_after, "after:", evidence.place.doubts);
  evidence.place.takes_before = was.ids;
  evidence.place.takes_after = is.ids;
  evidence.before = was.kept;
  evidence.after = is.kept;
  if (was.kept.empty() || is.kept.empty()) {
    evidence.place.trusted = false;
    return evidence;
  }
  const std::vector<double> changes = rest_changes(was, is);
  if (changes.size() < kFewestBands) {
    distrust(evidence, "too little of the spectrum is known to tell how the probe was held");
    return evidence;
  }
  const double rest = median(changes);
  evidence.place.rest_change_db = rest;
  evidence.rest_scatter_db = scatter_about(changes, rest);
  evidence.rest_degrees = static_cast<double>(changes.size() - 1);
  if (std::abs(rest) > kMostRestChangeDb)
    distrust(evidence, fmt::format("the rest of the spectrum is {:.0f} dB {}: the probe was held "
                                   "otherwise, or the gain was changed",
                                   std::abs(rest), rest < 0.0 ? "quieter" : "louder"));
  if (is.seconds < kMuchShorter * was.seconds)
    distrust(evidence, "the takes after are less than half as long");
  if (!is.speed_shown)
    distrust(evidence,
             "nothing shows that the engine ran at this speed after: its sound does not tell");
  return evidence;
}

void weigh_firing(PlaceEvidence& evidence, const std::vector<double>& changes_db) {
  if (changes_db.empty()) return;
  const double change = median(changes_db);
  evidence.place.firing_change_db = change;
  if (std::abs(change) > kMostRestChangeDb)
    distrust(evidence,
             fmt::format("the engine's firing orders are {:.0f} dB {}: the probe may not have "
                         "been held well, or the speed not be right",
                         std::abs(change), change < 0.0 ? "quieter" : "louder"));
}

std::optional<double> gain_change(const std::vector<PlaceEvidence>& places) {
  constexpr double least_db = 3.0;
  constexpr std::size_t fewest = 3;
  std::vector<double> changes;
  for (const PlaceEvidence& p : places)
    if (p.place.rest_change_db) changes.push_back(*p.place.rest_change_db);
  if (changes.size() < fewest) return std::nullopt;
  const double middle = median(changes);
  const bool alike = std::all_of(changes.begin(), changes.end(), [&](double c) {
    return std::abs(c) > least_db && std::abs(c - middle) < least_db;
  });
  if (!alike) return std::nullopt;
  return middle;
}

}  // namespace howl
