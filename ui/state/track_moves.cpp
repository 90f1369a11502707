#include "ui/state/track_moves.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <tuple>
#include <vector>

#include "ui/state/desk.h"

namespace howl::desk {
namespace {

/// The points as they are walked along: by speed, then as they were recorded.
std::vector<std::size_t> walked_points(const ToneResult& tone) {
  std::vector<std::size_t> order(tone.track.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto key = [&](std::size_t i) {
    const TrackPoint& point = tone.track[i];
    return std::tie(point.rpm, point.take, point.time_s);
  };
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
  return order;
}

/// Where a tone was heard at about a speed; its track is not empty.
std::size_t point_near(const ToneResult& tone, double rpm) {
  const auto away = [&](const TrackPoint& point) { return std::abs(point.rpm - rpm); };
  const auto nearest =
      std::min_element(tone.track.begin(), tone.track.end(),
                       [&](const TrackPoint& a, const TrackPoint& b) { return away(a) < away(b); });
  return static_cast<std::size_t>(nearest - tone.track.begin());
}

}  // namespace

const ToneResult* shown_tone(const DeskState& state) {
  const Analysis* const analysis = state.analysis();
  if (analysis == nullptr) return nullptr;
  const auto& picked = state.view.selection.tone;
  const ToneResult* const tone = picked ? find_tone(*analysis, *picked) : nullptr;
  return tone != nullptr || analysis->tones.empty() ? tone : &analysis->tones.front();
}

std::optional<std::size_t> track_point_at_cursor(const DeskState& state, const ToneResult& tone) {
  const auto& take = state.view.selection.take;
  const auto& cursor = state.view.sound.cursor_s;
  if (!take || !cursor) return std::nullopt;
  std::optional<std::size_t> found;
  double nearest = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < tone.track.size(); ++i) {
    const double away = std::abs(tone.track[i].time_s - *cursor);
    if (tone.track[i].take != *take || away >= nearest) continue;
    nearest = away;
    found = i;
  }
  return found;
}

void Desk::act(const PickTrackPoint& wish) {
  const ToneResult* const tone =
      state_.answer ? find_tone(state_.answer->analysis, wish.tone) : nullptr;
  if (tone == nullptr || wish.index >= tone->track.size()) return;
  const TrackPoint& point = tone->track[wish.index];
  act(PickTone{tone->id});
  if (state_.view.selection.take != point.take) act(PickTake{point.take});
  SoundView& view = state_.view.sound;
  if (view.time_s && !view.time_s->contains(point.time_s)) view.time_s.reset();
  view.cursor_s = point.time_s;
  view.cursor_hz = point.frequency_hz;
}

/// From nowhere to the first point, or back to the last.
void Desk::act(const StepTrack& wish) {
  const ToneResult* const tone = shown_tone(state_);
  if (tone == nullptr || tone->track.empty()) return;
  const std::vector<std::size_t> points = walked_points(*tone);
  const auto last = static_cast<std::ptrdiff_t>(points.size()) - 1;
  std::ptrdiff_t next = wish.by < 0 ? last : 0;
  if (const auto now = track_point_at_cursor(state_, *tone))
    next = std::find(points.begin(), points.end(), *now) - points.begin() + wish.by;
  act(PickTrackPoint{tone->id,
                     points[static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(next, 0, last))]});
}

void Desk::act(const StepTone& wish) {
  const ToneResult* const tone = shown_tone(state_);
  if (tone == nullptr || tone->track.empty()) return;
  const auto lit = track_point_at_cursor(state_, *tone);
  const TrackPoint& from = tone->track[lit.value_or(walked_points(*tone).front())];
  const ToneResult* next = nullptr;
  double least = std::numeric_limits<double>::infinity();
  for (const ToneResult& other : state_.answer->analysis.tones) {
    if (other.id == tone->id || other.track.empty()) continue;
    const double hz = other.track[point_near(other, from.rpm)].frequency_hz;
    const double away = wish.up > 0 ? hz - from.frequency_hz : from.frequency_hz - hz;
    if (away <= 0 || away >= least) continue;
    least = away;
    next = &other;
  }
  if (next != nullptr) act(PickTrackPoint{next->id, point_near(*next, from.rpm)});
}

}  // namespace howl::desk
