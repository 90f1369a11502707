#include "src/cli/describe.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstddef>
#include <string>
#include <vector>

#include "src/case/load_words.h"
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

/// With all that one speed source may differ in from another of its kind.
struct FullSpeedWords : SpeedWords {
  using SpeedWords::operator();
  std::string operator()(const EnteredRamp& ramp) const {
    std::string text;
    for (const SpeedPoint& point : ramp.points)
      text += fmt::format("{}{:g} rpm at {:g} s", text.empty() ? "" : ", ", point.speed.value,
                          point.time.value);
    return text;
  }
  std::string operator()(const TachoSpeed& tacho) const {
    return fmt::format("tacho on channel {}, {:g} pulses a turn", tacho.channel,
                       tacho.pulses_per_revolution);
  }
  std::string operator()(const SpeedInSound& heard) const {
    return heard.near ? fmt::format("speed from the sound, near {:g} rpm", heard.near->value)
                      : "speed from the sound";
  }
};

struct TakeFact {
  std::string name;
  std::string value;  ///< empty: not said
};

std::vector<TakeFact> facts_of_take(const Take& take) {
  return {{"point", take.point},
          {"speed", std::visit(FullSpeedWords{}, take.speed)},
          {"channel", std::to_string(take.channel)},
          {"reference", take.reference_channel ? fmt::format("channel {}", *take.reference_channel)
                                               : std::string()},
          {"load", fmt::format("{}", fmt::join(load_pairs(take.load), ", "))},
          {"road speed",
           take.road_speed_kmh ? fmt::format("{:g} km/h", *take.road_speed_kmh) : std::string()},
          {"background", take.background ? "yes" : "no"},
          {"note", take.note}};
}

}  // namespace

std::string describe_change(const Take& was, const Take& now) {
  const std::vector<TakeFact> before = facts_of_take(was);
  const std::vector<TakeFact> after = facts_of_take(now);
  const auto shown = [](const TakeFact& fact) { return fact.value.empty() ? "-" : fact.value; };
  TextColumns table({{.heading = ""}, {.heading = "was"}, {.heading = "is now"}});
  bool differs = false;
  for (std::size_t i = 0; i < before.size(); ++i) {
    if (before[i].value == after[i].value) continue;
    table.add({before[i].name, shown(before[i]), shown(after[i])});
    differs = true;
  }
  return differs ? table.text() : std::string();
}

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
