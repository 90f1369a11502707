#include "src/analysis/compared_places.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <utility>

#include "src/analysis/speed_check.h"

namespace howl {

namespace {

constexpr double kMostRestChangeDb = 6.0;
constexpr double kMostLeftOut = 0.2;
constexpr double kMuchShorter = 0.5;
constexpr std::size_t kFewestBands = 5;
constexpr double kLeastScatterDb = 0.5;

const TakeResult* result_of(const AnalysedCase& of, const std::string& id) {
  const auto& takes = of.analysis.takes;
  const auto found =
      std::find_if(takes.begin(), takes.end(), [&](const TakeResult& t) { return t.id == id; });
  return found == takes.end() ? nullptr : &*found;
}

/// What is wrong with a take, and how to record it so that it is not.
struct HoldFault {
  std::string what;
  std::string remedy;
};

/// Lost or loose contact, however short.
std::optional<HoldFault> contact_fault_of(const AnalysedCase& of, const std::string& id) {
  const TakeResult* take = result_of(of, id);
  if (take == nullptr) return std::nullopt;
  const auto share_of = [&](QualityKind kind) {
    double share = 0.0;
    for (const QualityFinding& finding : take->quality)
      if (finding.kind == kind) share += finding.share;
    return 100.0 * share;
  };
  const double lost = share_of(QualityKind::contact_lost);
  const double loose = share_of(QualityKind::contact_loose);
  if (lost + loose <= 0.0) return std::nullopt;
  const std::string remedy = "the probe pressed on firmly and held still throughout";
  if (lost >= loose)
    return HoldFault{fmt::format("{} lost contact for {:.0f} % of its time", id, lost + loose),
                     remedy};
  return HoldFault{fmt::format("{} was held loosely for {:.0f} % of its time", id, lost + loose),
                   remedy};
}

std::optional<HoldFault> recording_fault_of(const AnalysedCase& of, const std::string& id,
                                            const TakeReading& reading) {
  if (of.changed.contains(id))
    return HoldFault{id + " was changed since it was added, and proves nothing",
                     "and left as it is"};
  if (reading.clipped)
    return HoldFault{id + " clips: the recorder was set too high",
                     "with a recording that never clips"};
  if (reading.share_left_out <= kMostLeftOut) return std::nullopt;
  if (auto contact = contact_fault_of(of, id)) return contact;
  return HoldFault{fmt::format("{} has faults for {:.0f} % of its time, such as knocks or no speed",
                               id, 100.0 * reading.share_left_out),
                   "hand and cable kept still"};
}

/// The speed that the sound contradicts.
std::optional<HoldFault> wrong_speed_of(const AnalysedCase& of, const std::string& id) {
  const TakeResult* take = result_of(of, id);
  if (take == nullptr || !contradicts_speed(take->sound_speed)) return std::nullopt;
  return HoldFault{fmt::format("{} ran at {:.0f} rpm by its sound, not at the speed that is {}", id,
                               *take->sound_speed.rpm, take->speed_source),
                   "at that speed, or with the speed put right"};
}

/// Whether something but what was entered shows that the engine ran, at this speed.
bool speed_is_shown(const AnalysedCase& of, const std::string& id) {
  const TakeResult* take = result_of(of, id);
  return take != nullptr && (take->sound_speed.rpm || take->speed_source != "entered");
}

std::optional<HoldFault> fault_of(const AnalysedCase& of, const std::string& id,
                                  const TakeReading& reading) {
  if (auto fault = recording_fault_of(of, id, reading)) return fault;
  return wrong_speed_of(of, id);
}

struct SideTakes {
  std::vector<std::size_t> kept;  // places in the row
  std::vector<std::string> ids;
  double seconds{};
  bool speed_shown{};
  bool steady{true};
  std::map<int, std::vector<double>> rest_db;
  std::vector<std::string> doubts;
  std::vector<std::string> remedies;  // each once

  void doubt(const HoldFault& fault, const std::string& then) {
    doubts.push_back(fault.what + "; " + then);
    remedy(fault.remedy);
  }
  void remedy(const std::string& text) {
    if (std::find(remedies.begin(), remedies.end(), text) == remedies.end())
      remedies.push_back(text);
  }
};

SideTakes side_takes(const std::vector<std::size_t>& takes, const AnalysedCase& of,
                     const std::vector<TakeReading>& readings) {
  SideTakes result;
  std::vector<std::optional<HoldFault>> faults;
  for (const std::size_t take : takes) {
    result.ids.push_back(of.takes[take].id);
    faults.push_back(fault_of(of, result.ids.back(), readings[take]));
  }
  bool any_held = false;
  for (std::size_t i = 0; i < takes.size(); ++i)
    any_held = any_held || (!faults[i] && !contact_fault_of(of, result.ids[i]));
  for (std::size_t i = 0; i < takes.size(); ++i) {
    const auto contact = contact_fault_of(of, result.ids[i]);
    if (!faults[i] && any_held) faults[i] = contact;
    if (faults[i]) {
      result.doubt(*faults[i], "left out");
      continue;
    }
    if (contact) {
      result.steady = false;
      result.doubt(*contact, "shows neither that a tone is gone nor that it is new");
    }
    result.kept.push_back(i);
    result.seconds += of.takes[takes[i]].seconds;
    result.speed_shown = result.speed_shown || speed_is_shown(of, result.ids[i]);
    for (const auto& [band, level] : readings[takes[i]].rest_db)
      result.rest_db[band].push_back(level);
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

void distrust(PlaceEvidence& evidence, std::string why, std::string_view remedy) {
  ComparedPlace& place = evidence.place;
  place.trusted = false;
  place.doubts.push_back(std::move(why));
  if (place.record_again.find(remedy) != std::string::npos) return;
  place.record_again += fmt::format("{}{}", place.record_again.empty() ? "" : ", ", remedy);
}

constexpr std::string_view kHeldAsBefore =
    "with the gain of the takes before and the probe pressed as then";

void note_doubts(ComparedPlace& place, const SideTakes& was, const SideTakes& is) {
  for (const std::string& doubt : was.doubts) place.doubts.push_back("before: " + doubt);
  for (const std::string& doubt : is.doubts) place.doubts.push_back("after: " + doubt);
  // Another take that is sound does instead.
  if (is.kept.empty() || !is.steady)
    place.record_again = fmt::format("{}", fmt::join(is.remedies, ", "));
}

/// Of what should be as loud as before: "the rest of the spectrum is", and what may be behind it.
void doubt_change(PlaceEvidence& evidence, double change_db, std::string_view what,
                  std::string_view why) {
  if (std::abs(change_db) > kMostRestChangeDb)
    distrust(evidence,
             fmt::format("{} {:.0f} dB {}: {}", what, std::abs(change_db),
                         change_db < 0.0 ? "quieter" : "louder", why),
             kHeldAsBefore);
}

}  // namespace

PlaceEvidence place_evidence(const TakeRow& row, const AnalysedCase& before,
                             const AnalysedCase& after,
                             const std::vector<TakeReading>& readings_before,
                             const std::vector<TakeReading>& readings_after) {
  PlaceEvidence evidence;
  evidence.place.point = row.point;
  evidence.place.condition = row.condition;
  const SideTakes was = side_takes(row.before, before, readings_before);
  const SideTakes is = side_takes(row.after, after, readings_after);
  evidence.place.takes_before = was.ids;
  evidence.place.takes_after = is.ids;
  evidence.place.steady = was.steady && is.steady;
  note_doubts(evidence.place, was, is);
  evidence.before = was.kept;
  evidence.after = is.kept;
  if (was.kept.empty() || is.kept.empty()) return evidence;
  evidence.place.trusted = true;
  const std::vector<double> changes = rest_changes(was, is);
  if (changes.size() < kFewestBands) {
    distrust(evidence, "too little of the spectrum is known to tell how the probe was held",
             "with the settings of the takes before");
    return evidence;
  }
  const double rest = median(changes);
  evidence.place.rest_change_db = rest;
  evidence.rest_scatter_db = scatter_about(changes, rest);
  evidence.rest_degrees = static_cast<double>(changes.size() - 1);
  doubt_change(evidence, rest, "the rest of the spectrum is",
               "the probe was held otherwise, or the gain was changed");
  if (is.seconds < kMuchShorter * was.seconds)
    distrust(evidence, "the takes after are less than half as long", "for as long as before");
  if (!is.speed_shown)
    distrust(evidence,
             "nothing shows that the engine ran at this speed after: its sound does not tell",
             "with the engine's speed logged or picked up");
  return evidence;
}

void weigh_firing(PlaceEvidence& evidence, const std::vector<double>& changes_db) {
  if (changes_db.empty()) return;
  const double change = median(changes_db);
  evidence.place.firing_change_db = change;
  doubt_change(evidence, change, "the engine's firing orders are",
               "the probe may not have been held well, or the speed not be right");
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
