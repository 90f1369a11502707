#include "src/analysis/background_tones.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <set>
#include <string>

#include "dsp/level.h"
#include "src/analysis/like_takes.h"
#include "src/analysis/passing_sweep.h"

namespace howl {

namespace {

constexpr double kAsLoudDb = 3.0;
constexpr double kSteady = 0.01;  // a sighting of one pitch stays within this fraction

enum class Kind { engine_off, without_suspect };

bool is_of(Kind kind, const TakeAudio& background) {
  return background.engine_off == (kind == Kind::engine_off);
}

double middle_frequency(const Sighting& s) {
  std::vector<double> values;
  for (const PitchPoint& p : s.points) values.push_back(p.frequency_hz);
  return median(values);
}

double middle_order(const Sighting& s) {
  std::vector<double> values;
  for (const PitchPoint& p : s.points) values.push_back(60.0 * p.frequency_hz / p.rpm);
  return median(values);
}

bool steady(const Sighting& s) { return s.frequency_hz.width() <= kSteady * s.frequency_hz.high; }

bool same(double a, double b, double tolerance) { return std::abs(std::log(a / b)) < tolerance; }

bool same_pitch(const Sighting& a, const Sighting& b) {
  const double frequency = middle_frequency(a);
  return steady(a) && steady(b) &&
         same(frequency, middle_frequency(b), kSameTone + 0.5 / frequency);
}

/// As two takes at like speed show one tone: at the same order, or at the same pitch.
bool same_tone(const Sighting& a, const TakeAudio& take, const Sighting& b,
               const TakeAudio& background) {
  const double speed_error =
      std::hypot(take.speed.relative_error(), background.speed.relative_error());
  return same_pitch(a, b) || same(middle_order(a), middle_order(b), kSameTone + 2.0 * speed_error);
}

/// Background takes that one take is held against.
std::set<std::size_t> rivals_of(const TakeAudio& take, std::span<const TakeAudio> background,
                                Kind kind) {
  std::set<std::size_t> here;
  std::set<std::size_t> anywhere;
  for (std::size_t i = 0; i < background.size(); ++i) {
    if (!is_of(kind, background[i])) continue;
    if (kind == Kind::without_suspect && !like_speed(background[i], take) &&
        passes(background[i], take).empty())
      continue;
    anywhere.insert(i);
    if (background[i].point == take.point) here.insert(i);
  }
  return here.empty() ? anywhere : here;
}

/// What a sighting shows while its sweep passes a speed; none where it was not followed there.
std::optional<Sighting> near_speed(const Sighting& s, double rpm) {
  Sighting part = s;
  part.points.clear();
  part.levels_db.clear();
  std::vector<Decibel> levels;
  std::vector<double> hertz;
  for (std::size_t i = 0; i < s.points.size(); ++i) {
    if (std::abs(s.points[i].rpm / rpm - 1.0) > kPassing) continue;
    part.points.push_back(s.points[i]);
    part.levels_db.push_back(s.levels_db[i]);
    levels.emplace_back(s.levels_db[i]);
    hertz.push_back(s.points[i].frequency_hz);
  }
  if (levels.empty()) return std::nullopt;
  part.level_db = energy_mean(levels)->value;
  const auto [low, high] = std::ranges::minmax(hertz);
  part.frequency_hz = {low, high};
  return part;
}

struct Scene {
  std::span<const TakeAudio> takes;
  std::span<const TakeAudio> background;
  std::span<const Sighting> sightings;
};

/// By how much a sighting is louder than the loudest of the same tone in the background takes it is
/// held against: infinite where it is in none of them; none where there is no such take.
std::optional<double> excess_db(const Sighting& s, const Scene& scene, Kind kind,
                                std::set<std::string>& heard_in) {
  const TakeAudio& take = scene.takes[s.take];
  const std::set<std::size_t> rivals = rivals_of(take, scene.background, kind);
  if (rivals.empty()) return std::nullopt;
  double excess = std::numeric_limits<double>::infinity();
  for (const Sighting& other : scene.sightings) {
    if (!rivals.contains(other.take)) continue;
    const TakeAudio& background = scene.background[other.take];
    const bool sweeps_past = kind == Kind::without_suspect && !is_hold(background) && is_hold(take);
    const std::optional<Sighting> compared =
        sweeps_past ? near_speed(other, mean_rpm(take)) : std::optional(other);
    if (!compared) continue;
    const bool match = kind == Kind::engine_off ? same_pitch(s, *compared)
                                                : same_tone(s, take, *compared, background);
    if (!match) continue;
    excess = std::min(excess, s.level_db - compared->level_db);
    if (s.level_db - compared->level_db <= kAsLoudDb) heard_in.insert(background.id);
  }
  return excess;
}

/// The takes without the suspect in which the track is just as loud; empty where it is not.
std::set<std::string> as_loud_in(const ToneTrack& track, const Scene& scene, Kind kind) {
  std::set<std::string> heard_in;
  std::vector<double> excess;
  for (const Sighting& s : track.sightings)
    if (const auto one = excess_db(s, scene, kind, heard_in)) excess.push_back(*one);
  if (excess.empty()) return {};
  std::sort(excess.begin(), excess.end());
  const bool as_loud = excess[excess.size() / 2] <= kAsLoudDb;
  return as_loud ? heard_in : std::set<std::string>{};
}

std::string remark_on(const ToneTrack& track, const Scene& scene) {
  if (track.verdict.behaviour != Behaviour::speed_locked)
    if (const auto takes = as_loud_in(track, scene, Kind::engine_off); !takes.empty())
      return fmt::format(
          "just as loud with the engine off ({}): hum or workshop noise, not what is looked for",
          fmt::join(takes, ", "));
  if (const auto takes = as_loud_in(track, scene, Kind::without_suspect); !takes.empty())
    return fmt::format("just as loud while the suspect does not work ({}): not the suspect",
                       fmt::join(takes, ", "));
  return {};
}

}  // namespace

void mark_background_tones(std::vector<ToneTrack>& tracks, std::span<const TakeAudio> takes,
                           std::span<const TakeAudio> background,
                           std::span<const Sighting> sightings) {
  const Scene scene{takes, background, sightings};
  for (ToneTrack& track : tracks) track.remark = remark_on(track, scene);
}

}  // namespace howl
