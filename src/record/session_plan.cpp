#include "src/record/session_plan.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "src/analysis/like_takes.h"

namespace howl {

namespace {

bool same_speed(const SpeedSource& one, const SpeedSource& other) {
  if (std::holds_alternative<EngineOff>(one)) return std::holds_alternative<EngineOff>(other);
  const auto* a = std::get_if<EnteredSpeed>(&one);
  const auto* b = std::get_if<EnteredSpeed>(&other);
  return a != nullptr && b != nullptr && std::abs(a->speed / b->speed - 1.0) <= kLikeHold;
}

bool same_road(const std::optional<double>& one, const std::optional<double>& other) {
  const double a = one.value_or(0.0);
  const double b = other.value_or(0.0);
  return std::abs(a - b) <= kLikeRoad * std::max(a, b);
}

bool is_taken(const SessionStep& step, const Case& value, const Take& pattern) {
  return std::ranges::any_of(value.takes, [&](const Take& take) {
    return take.point == step.point && take.load == pattern.load &&
           take.background == pattern.background &&
           same_road(take.road_speed_kmh, pattern.road_speed_kmh) &&
           same_speed(take.speed, step.speed);
  });
}

SpeedSource source_of(Rpm hold) {
  if (hold.value == 0.0) return EngineOff{};
  return EnteredSpeed{hold};
}

}  // namespace

std::vector<SessionStep> session_steps(const std::vector<std::string>& points,
                                       const std::vector<Rpm>& holds) {
  std::vector<SessionStep> steps;
  for (const std::string& point : points)
    for (const Rpm hold : holds) steps.push_back({.point = point, .speed = source_of(hold)});
  return steps;
}

std::vector<SessionStep> steps_left(const std::vector<SessionStep>& steps, const Case& value,
                                    const Take& pattern) {
  std::vector<SessionStep> left;
  std::ranges::copy_if(steps, std::back_inserter(left),
                       [&](const SessionStep& step) { return !is_taken(step, value, pattern); });
  return left;
}

}  // namespace howl
