#include "src/profile/makes_toml.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <numbers>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "dsp/bearing.h"
#include "dsp/gear.h"
#include "src/files/toml_choice.h"

namespace howl {

namespace {

constexpr Interval kCounts{1.0, 400.0};
constexpr Interval kPerTurn{0.01, 1000.0};
constexpr Interval kShare{1e-6, 1.0};

// Deep-groove ball bearings of accessories, from published ones: 6203 and 6205 (Case Western
// Reserve University), ER-16K (Curtin University) and UER204 have 8 to 9 balls and a ratio of ball
// to pitch diameter from 0.20 to 0.24; widened for sizes in between, from memory.
constexpr Interval kTypicalElements{7.0, 10.0};
constexpr Interval kTypicalBallToPitch{0.19, 0.27};

// Which part of a bearing is flawed. Common practice: races go before balls, the cage goes last.
constexpr double kOuterShare = 0.45;
constexpr double kInnerShare = 0.35;
constexpr double kElementShare = 0.15;
constexpr double kCageShare = 0.05;

bool is_whole(double x) { return x == std::round(x); }

Interval whole_span(TomlReader& in, std::string_view key, Interval range) {
  const Interval span = in.span(key, range);
  if (!is_whole(span.low) || !is_whole(span.high))
    in.fail(key, "must be whole", "write whole numbers, without quotation marks");
  return span;
}

// ---- counts ----

void read_mate(TomlReader& in, Makes& makes) {
  if (in.has("mate") && in.has("gerotor"))
    in.fail("gerotor", "and 'mate' are both given", "keep one of them");
  if (in.says("mate")) makes.mate = whole_span(in, "mate", kCounts);
  makes.gerotor = in.flag_if("gerotor").value_or(false);
}

std::vector<Makes> counted(TomlReader& in) {
  const Interval count = whole_span(in, "count", kCounts);
  const std::string what = in.text("what");
  const int times = in.whole_if("times", 1, 4).value_or(1);
  if (times == 1) {
    Makes makes{.what = what, .per_turn = count, .whole_numbers = true};
    read_mate(in, makes);
    return {makes};
  }
  std::vector<Makes> each;
  for (double n = count.low; n <= count.high; ++n)
    each.push_back({.what = fmt::format("pulses of {:g} {}", n, what),
                    .per_turn = {n * times, n * times},
                    .whole_numbers = true});
  return each;
}

constexpr int kRectifiedPulses = 6;  // of a pair of poles: three phases, both half waves

std::string pulses_text(double poles, int pulses) {
  if (pulses == kRectifiedPulses) return fmt::format("ripple pulses of {:g} poles", poles);
  return fmt::format("{} a pair of {:g} poles",
                     pulses == 1 ? "one pulse" : fmt::format("{} pulses", pulses), poles);
}

std::vector<Makes> pulses_of_poles(TomlReader& in) {
  const int pulses = in.whole_if("pulses", 1, 48).value_or(kRectifiedPulses);
  const Interval poles = whole_span(in, "poles", {2.0, 64.0});
  std::vector<Makes> each;
  for (double n = poles.low; n <= poles.high; ++n)
    if (std::fmod(n, 2.0) == 0.0)
      each.push_back({.what = pulses_text(n, pulses),
                      .per_turn = {0.5 * n * pulses, 0.5 * n * pulses},
                      .whole_numbers = pulses == kRectifiedPulses});
  if (each.empty()) in.fail("poles", "is odd", "poles come in pairs: write an even number");
  return each;
}

std::vector<Makes> plain_rate(TomlReader& in) {
  return {{.what = in.text("what"), .per_turn = in.span("per_turn", kPerTurn)}};
}

// ---- bearings ----

struct BearingSpread {
  Interval elements{kTypicalElements};
  Interval ball_to_pitch{kTypicalBallToPitch};
  double contact_angle{};  ///< radians
  bool outer_turns{};
};

BearingSpread read_bearing(TomlReader in) {
  BearingSpread bearing;
  if (in.has("elements")) bearing.elements = whole_span(in, "elements", {3.0, 60.0});
  if (in.has("ball_to_pitch") && in.has("ball"))
    in.fail("ball", "and 'ball_to_pitch' are both given", "keep one of them");
  if (in.has("ball") != in.has("pitch"))
    in.fail(in.has("ball") ? "pitch" : "ball", "is missing",
            "give ball and pitch, diameters in one unit, or ball_to_pitch");
  if (in.has("ball")) {
    const Interval ball = in.span("ball", {0.1, 200.0});
    const Interval pitch = in.span("pitch", {0.1, 1000.0});
    bearing.ball_to_pitch = {ball.low / pitch.high, ball.high / pitch.low};
    if (bearing.ball_to_pitch.high >= 1.0)
      in.fail("ball", "is as large as the pitch circle, or larger",
              "pitch is the diameter of the circle through the balls' centres");
  }
  bearing.ball_to_pitch = in.span_if("ball_to_pitch", {0.02, 0.6}).value_or(bearing.ball_to_pitch);
  bearing.contact_angle = in.number_or("angle", 0.0, {0.0, 80.0}) * std::numbers::pi / 180.0;
  bearing.outer_turns = in.flag_if("outer_turns").value_or(false);
  in.finish();
  return bearing;
}

Interval hull(const Interval& a, const Interval& b) {
  return {std::min(a.low, b.low), std::max(a.high, b.high)};
}

/// Of that many elements, whatever the ratio of ball to pitch diameter within its limits. All
/// defect rates rise or fall with that ratio throughout, so its ends bound them.
DefectIntervals intervals_of(const BearingSpread& bearing, int elements) {
  const auto at = [&](double ratio) {
    return defect_intervals({elements, ratio, 1.0, bearing.contact_angle}, {});
  };
  const DefectIntervals a = at(bearing.ball_to_pitch.low);
  const DefectIntervals b = at(bearing.ball_to_pitch.high);
  return {hull(a.cage, b.cage), hull(a.outer_race, b.outer_race), hull(a.inner_race, b.inner_race),
          hull(a.element_spin, b.element_spin), hull(a.element_flaw, b.element_flaw)};
}

/// Where the outer race turns and the inner one stands, as in an idler, only the cage's turns
/// differ: all else depends on how fast the races turn against each other.
Interval cage_turns(const BearingSpread& bearing, const Interval& inner_turns) {
  return bearing.outer_turns ? Interval{1.0 - inner_turns.high, 1.0 - inner_turns.low}
                             : inner_turns;
}

std::vector<Makes> defects_of(const BearingSpread& bearing) {
  std::vector<Makes> defects;
  const double counts = bearing.elements.width() + 1.0;
  for (double n = bearing.elements.low; n <= bearing.elements.high; ++n) {
    const DefectIntervals at = intervals_of(bearing, static_cast<int>(n));
    const auto add = [&](std::string_view part, const Interval& per_turn, double share) {
      defects.push_back({.what = fmt::format("flaw of {}, {:g} elements", part, n),
                         .per_turn = per_turn,
                         .share = share / counts});
    };
    add("the outer race", at.outer_race, kOuterShare);
    add("the inner race", at.inner_race, kInnerShare);
    add("an element", at.element_flaw, kElementShare);
    add("the cage", cage_turns(bearing, at.cage), kCageShare);
  }
  return defects;
}

std::vector<Makes> bearing_defects(TomlReader& in) {
  if (in.holds_table("bearing")) return defects_of(read_bearing(in.table("bearing")));
  if (in.text("bearing") != "unknown")
    in.fail("bearing", "is neither a table nor \"unknown\"",
            "write bearing = { elements = …, ball = …, pitch = … }");
  return defects_of({});
}

// ---- planetary sets ----

enum class Member { sun, ring, carrier };
constexpr Choices<Member, 3> kMembers{
    {{"sun", Member::sun}, {"ring", Member::ring}, {"carrier", Member::carrier}}};

/// Turns of all members while `turning` turns once and `held` stands.
PlanetarySpeeds speeds_of(const PlanetarySet& set, Member held, Member turning) {
  const auto of = [&](Member member) { return member == turning ? 1.0 : 0.0; };
  if (held != Member::carrier && turning != Member::carrier)
    return planetary_from_sun_and_ring(set, of(Member::sun), of(Member::ring));
  if (held != Member::ring && turning != Member::ring)
    return planetary_from_sun_and_carrier(set, of(Member::sun), of(Member::carrier));
  return planetary_from_ring_and_carrier(set, of(Member::ring), of(Member::carrier));
}

struct PlanetarySpread {
  Interval sun;
  Interval ring;
  Member held{};
  Member turning{};
  std::optional<int> planets;
  std::optional<int> planet;  ///< teeth of one
};

PlanetarySpread read_planetary(TomlReader in) {
  PlanetarySpread set{.sun = whole_span(in, "sun", {5.0, 200.0}),
                      .ring = whole_span(in, "ring", {10.0, 400.0}),
                      .held = choice(in, "held", kMembers),
                      .turning = choice(in, "turning", kMembers),
                      .planets = in.whole_if("planets", 2, 8),
                      .planet = in.whole_if("planet", 5, 200)};
  if (set.held == set.turning)
    in.fail("turning", "is the member that is held", "name the member that the shaft turns");
  if (set.sun.high >= set.ring.low)
    in.fail("sun", "has as many teeth as the ring, or more", "correct the numbers of teeth");
  const bool exact = set.sun.width() == 0.0 && set.ring.width() == 0.0;
  if (set.planet && !exact)
    in.fail("planet", "says nothing unless all teeth are known",
            "remove it, or give teeth as single numbers");
  if (set.planets && (!exact || set.held != Member::ring))
    in.fail("planets", "says nothing unless the ring is held and all teeth are known",
            "remove it, or give teeth as single numbers");
  in.finish();
  return set;
}

PlanetarySet teeth(double sun, double ring) {
  return {static_cast<int>(sun), static_cast<int>(ring)};
}

double mesh_per_turn(const PlanetarySpread& set, double sun, double ring) {
  const PlanetarySet gears = teeth(sun, ring);
  return planetary_mesh_rate(gears, speeds_of(gears, set.held, set.turning));
}

Interval hull_of(double a, double b) { return {std::min(a, b), std::max(a, b)}; }

/// Turns of the other members, of a planet against its carrier, and how often a planet passes a
/// member at rest, each per turn of the source's shaft and without its sense.
std::vector<Spread> other_shafts_of(const PlanetarySpread& set) {
  const auto turns_with = [&](double sun, double ring) {
    const PlanetarySpeeds speeds = speeds_of(teeth(sun, ring), set.held, set.turning);
    std::vector<double> turns;
    if (set.turning != Member::sun) turns.push_back(std::abs(speeds.sun));
    if (set.turning != Member::ring) turns.push_back(std::abs(speeds.ring));
    if (set.turning != Member::carrier) turns.push_back(std::abs(speeds.carrier));
    if (set.planet)
      turns.push_back(
          std::abs(planet_speed(teeth(sun, ring), *set.planet, speeds) - speeds.carrier));
    if (set.planets) turns.push_back(*set.planets * std::abs(speeds.carrier));
    return turns;
  };
  // All rise or fall throughout with the ratio of sun to ring; a planet is told only where that is
  // known exactly.
  const std::vector<double> least = turns_with(set.sun.low, set.ring.high);
  const std::vector<double> most = turns_with(set.sun.high, set.ring.low);
  std::vector<Spread> shafts;
  for (std::size_t i = 0; i < least.size(); ++i)
    if (least[i] > 0.0 && most[i] > 0.0) shafts.push_back(hull_of(least[i], most[i]));
  return shafts;
}

/// The lines about the mesh of a ring at rest that its planets let through (McFadden and Smith
/// 1985), nearest to the mesh.
std::vector<Makes> lines_at_ring(const PlanetarySpread& set) {
  const PlanetarySet gears = teeth(set.sun.low, set.ring.low);
  const double carrier = speeds_of(gears, set.held, set.turning).carrier;
  const std::vector<int> lines = planetary_lines_at_ring(gears, *set.planets, *set.planets - 1);
  std::vector<Makes> makes;
  for (const int line : lines) {
    const double per_turn = line * std::abs(carrier);
    makes.push_back({.what = fmt::format("line {} of the planetary mesh", line),
                     .per_turn = {per_turn, per_turn},
                     .share = 1.0 / static_cast<double>(lines.size())});
  }
  return makes;
}

std::vector<Makes> lines_of_mesh(const PlanetarySpread& set) {
  if (set.planets) return lines_at_ring(set);
  // Rises with both numbers of teeth, so the fewest and the most bound it.
  const Interval mesh{mesh_per_turn(set, set.sun.low, set.ring.low),
                      mesh_per_turn(set, set.sun.high, set.ring.high)};
  if (set.turning == Member::carrier || set.held == Member::carrier)
    return {{.what = "teeth of the planetary mesh",
             .per_turn = {std::round(mesh.low), std::round(mesh.high)},
             .whole_numbers = true}};
  return {{.what = "planetary mesh", .per_turn = mesh}};
}

std::vector<Makes> planetary_mesh(TomlReader& in) {
  const PlanetarySpread set = read_planetary(in.table("planetary"));
  std::vector<Makes> lines = lines_of_mesh(set);
  for (Makes& one : lines) one.other_shafts = other_shafts_of(set);
  return lines;
}

// ---- the list ----

using Reading = std::vector<Makes> (*)(TomlReader&);
constexpr Choices<Reading, 5> kReadings{{{"count", counted},
                                         {"poles", pulses_of_poles},
                                         {"per_turn", plain_rate},
                                         {"bearing", bearing_defects},
                                         {"planetary", planetary_mesh}}};

Reading reading_of(const TomlReader& in) {
  Reading found = nullptr;
  for (const auto& [key, reading] : kReadings) {
    if (!in.has(key)) continue;
    if (found != nullptr)
      in.fail(key, "does not go with the other one that is given",
              "keep one of count, poles, per_turn, bearing, planetary");
    found = reading;
  }
  if (found == nullptr)
    in.fail("count", "is missing", "add one of count, poles, per_turn, bearing, planetary");
  return found;
}

/// Several that one entry of the list stands for: their shares come to that of the entry.
void scale_to(std::vector<Makes>& several, double share) {
  double sum = 0.0;
  for (const Makes& one : several) sum += one.share;
  for (Makes& one : several) one.share *= share / sum;
}

}  // namespace

void require_whole(const TomlReader& in, std::string_view key, double shares) {
  constexpr double of_rounding = 0.01;
  if (std::abs(shares - 1.0) > of_rounding)
    in.fail(key, fmt::format("has shares that sum to {:g}", shares), "let them sum to 1");
}

std::vector<Makes> read_makes(TomlReader& in) {
  std::vector<TomlReader> entries = in.tables("makes");
  const auto with_share =
      std::ranges::count_if(entries, [](const TomlReader& entry) { return entry.has("share"); });
  if (with_share != 0 && static_cast<std::size_t>(with_share) != entries.size())
    in.fail("makes", "gives a share of some only", "give every one its share, or none");
  std::vector<Makes> all;
  double sum = 0.0;
  for (TomlReader& entry : entries) {
    std::vector<Makes> several = reading_of(entry)(entry);
    const double share =
        entry.number_or("share", 1.0 / static_cast<double>(entries.size()), kShare);
    entry.finish();
    scale_to(several, share);
    sum += share;
    std::ranges::move(several, std::back_inserter(all));
  }
  if (!all.empty()) require_whole(in, "makes", sum);
  return all;
}

}  // namespace howl
