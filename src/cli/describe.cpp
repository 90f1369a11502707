#include "src/cli/describe.h"

#include <fmt/format.h>

#include <algorithm>

#include "src/report/text_columns.h"

namespace howl {
namespace {

struct SpeedWords {
  std::string operator()(const EnteredSpeed& entered) const {
    return fmt::format("{:g} rpm", entered.speed.value);
  }
  std::string operator()(const EnteredRamp& ramp) const {
    const auto [low, high] = std::ranges::minmax(ramp.points, {}, &SpeedPoint::speed);
    return fmt::format("{:g} … {:g} rpm as entered", low.speed.value, high.speed.value);
  }
  std::string operator()(const LoggedSpeed& logged) const { return "speed from " + logged.log; }
  std::string operator()(const TachoSpeed& tacho) const {
    return fmt::format("tacho on channel {}", tacho.channel);
  }
  std::string operator()(const SpeedInSound&) const { return "speed from the sound"; }
  std::string operator()(const EngineOff&) const { return "engine off"; }
};

}  // namespace

std::string describe_points(std::span<const ProbePoint> points) {
  TextColumns table(
      {{.heading = "point", .widest = 36}, {.heading = "where to touch", .widest = 60}});
  for (const ProbePoint& point : points) table.add({point.name, point.description});
  return table.text();
}

std::string describe_take(const Take& take) {
  const double seconds = static_cast<double>(take.frames) / take.sample_rate;
  return fmt::format("{}: {}, {:.1f} s, {}{}\n", take.id, printable(take.point), seconds,
                     std::visit(SpeedWords{}, take.speed), take.background ? ", background" : "");
}

}  // namespace howl
