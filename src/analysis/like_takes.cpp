#include "src/analysis/like_takes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace howl {

namespace {

constexpr double kLikeSweep = 0.10;

bool close(double a, double b, double tolerance) {
  return std::abs(a - b) <= tolerance * std::max(a, b);
}

}  // namespace

double mean_road_speed(const TakeAudio& take) {
  if (take.road.empty()) return take.road_speed_kmh.value_or(0.0);
  double sum = 0.0;
  for (const RoadSpeedPoint& p : take.road) sum += p.kmh;
  return sum / static_cast<double>(take.road.size());
}

bool like_road(const TakeAudio& a, const TakeAudio& b) {
  return a.motion_unknown == b.motion_unknown &&
         close(mean_road_speed(a), mean_road_speed(b), kLikeRoad);
}

bool like_speed(const TakeAudio& a, const TakeAudio& b) {
  if (is_hold(a) != is_hold(b) || !like_road(a, b)) return false;
  const SpeedCurve::Range ra = speed_range(a);
  const SpeedCurve::Range rb = speed_range(b);
  if (is_hold(a))
    return close(0.5 * (ra.low + ra.high).value, 0.5 * (rb.low + rb.high).value, kLikeHold);
  return close(ra.low.value, rb.low.value, kLikeSweep) &&
         close(ra.high.value, rb.high.value, kLikeSweep);
}

bool comparable(const TakeAudio& a, const TakeAudio& b) {
  return a.load == b.load && like_speed(a, b);
}

std::vector<std::size_t> conditions_of(const std::vector<TakeAudio>& takes) {
  std::vector<std::size_t> first_of;
  std::vector<std::size_t> condition;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    const auto home = std::find_if(first_of.begin(), first_of.end(),
                                   [&](std::size_t f) { return comparable(takes[f], takes[i]); });
    condition.push_back(static_cast<std::size_t>(home - first_of.begin()));
    if (home == first_of.end()) first_of.push_back(i);
  }
  return condition;
}

void mark_unknown_motion(std::vector<TakeAudio>& takes) {
  const auto moved = [](const TakeAudio& take) {
    return take.road_speed_kmh.value_or(0.0) > 0.0 ||
           std::any_of(take.road.begin(), take.road.end(),
                       [](const RoadSpeedPoint& p) { return p.kmh > 0.0; });
  };
  const bool any_moved = std::any_of(takes.begin(), takes.end(), moved);
  for (TakeAudio& take : takes)
    take.motion_unknown = any_moved && !take.road_speed_kmh && take.road.empty();
}

double mean_rpm(const TakeAudio& take) {
  const auto turns_in = [&](double from, double to) {
    return take.speed.revolutions_at(Seconds(to)) - take.speed.revolutions_at(Seconds(from));
  };
  double turns = turns_in(0.0, take.seconds);
  double seconds = take.seconds;
  for (const Interval& span : take.left_out) {
    const double from = std::clamp(span.low, 0.0, take.seconds);
    const double to = std::clamp(span.high, 0.0, take.seconds);
    turns -= turns_in(from, to);
    seconds -= to - from;
  }
  constexpr double least_share = 0.01;  // with less there is no spectrum either
  return seconds > least_share * take.seconds ? 60.0 * turns / seconds
                                              : 60.0 * turns_in(0.0, take.seconds) / take.seconds;
}

std::string describe_condition(const TakeAudio& take) {
  const SpeedCurve::Range range = speed_range(take);
  std::string text = is_hold(take)
                         ? fmt::format("{:.0f} rpm", 0.5 * (range.low + range.high).value)
                         : fmt::format("{:.0f} to {:.0f} rpm", range.low.value, range.high.value);
  for (const auto& [key, value] : take.load) text += fmt::format(", {} {}", key, value);
  if (take.motion_unknown) text += ", road speed not known";
  if (mean_road_speed(take) > 0.0) text += fmt::format(", {:.0f} km/h", mean_road_speed(take));
  return text;
}

}  // namespace howl
