#include "src/profile/expected_lines.h"

#include <fmt/format.h>

#include <cmath>
#include <utility>

#include "dsp/gear.h"

namespace howl {

namespace {

using Unit = ExpectedLine::Unit;

/// How fast the shaft turns, in the unit in which its lines are held against tones.
struct ShaftRate {
  Unit unit{};
  Interval turns;
  bool rigid{};  ///< at a fixed whole or broken number of turns, without slip
};

struct RateOfShaft {
  std::optional<ShaftRate> operator()(const CrankTurning& t) const {
    return ShaftRate{Unit::order, t.ratio, t.ratio.width() == 0.0};
  }
  std::optional<ShaftRate> operator()(const BeltTurning& t) const {
    return ShaftRate{
        Unit::order, {t.ratio.low * (1.0 - t.slip.high), t.ratio.high * (1.0 - t.slip.low)}, false};
  }
  std::optional<ShaftRate> operator()(const RoadTurning& t) const {
    return ShaftRate{Unit::cycles_per_metre, t.turns_per_metre, false};
  }
  std::optional<ShaftRate> operator()(const FreeTurning&) const { return std::nullopt; }
  std::optional<ShaftRate> operator()(const Ringing&) const { return std::nullopt; }
};

bool is_nearly_whole(double x) {
  constexpr double of_rounding = 1e-9;  // a ratio of teeth is a fraction
  return std::abs(x - std::round(x)) <= of_rounding * std::abs(x);
}

Interval times(const Interval& a, const Interval& b) { return {a.low * b.low, a.high * b.high}; }

ExpectedLine line(const std::string& what, const ShaftRate& shaft, const Interval& per_turn,
                  double share) {
  const Interval at = times(shaft.turns, per_turn);
  return {.what = what,
          .unit = shaft.unit,
          .at = at,
          .exact = shaft.rigid && at.width() == 0.0 && is_nearly_whole(at.low),
          .share = share,
          .shaft = shaft.turns,
          .other_shafts = {},
          .same_teeth = {}};
}

std::optional<Interval> mate_of(const Makes& makes, double count) {
  return makes.gerotor ? Interval{count + 1.0, count + 1.0} : makes.mate;
}

/// The mate's shaft, and how often the same two teeth meet.
void add_mate(const ShaftRate& shaft, double count, const Interval& mate, ExpectedLine& line) {
  line.other_shafts.push_back(times(shaft.turns, {count / mate.high, count / mate.low}));
  if (mate.width() > 0.0) return;
  const double meet = hunting_tooth_rate(static_cast<int>(count), static_cast<int>(mate.low), 1.0);
  line.same_teeth = times(shaft.turns, {meet, meet});
}

std::string counted_text(double count, const std::string& what) {
  return what.empty() ? fmt::format("{:g}", count) : fmt::format("{:g} {}", count, what);
}

std::vector<ExpectedLine> bare_lines(const Makes& makes, const ShaftRate& shaft) {
  if (!makes.whole_numbers) return {line(makes.what, shaft, makes.per_turn, makes.share)};
  std::vector<ExpectedLine> lines;
  const double first = std::ceil(makes.per_turn.low);
  const double last = std::floor(makes.per_turn.high);
  const double share = makes.share / (last - first + 1.0);
  for (double n = first; n <= last; ++n) {
    lines.push_back(line(counted_text(n, makes.what), shaft, {n, n}, share));
    if (const auto mate = mate_of(makes, n)) add_mate(shaft, n, *mate, lines.back());
  }
  return lines;
}

void add_lines(const Makes& makes, const ShaftRate& shaft, std::vector<ExpectedLine>& lines) {
  for (ExpectedLine& one : bare_lines(makes, shaft)) {
    for (const Spread& turns : makes.other_shafts)
      one.other_shafts.push_back(times(shaft.turns, turns));
    lines.push_back(std::move(one));
  }
}

std::optional<Interval> hertz_of(const Turning& turning) {
  if (const auto* free = std::get_if<FreeTurning>(&turning)) return free->hertz;
  if (const auto* ringing = std::get_if<Ringing>(&turning)) return ringing->hertz;
  return std::nullopt;
}

/// A tone of known pitch, whatever makes it; its shaft turns once for all that it makes.
ExpectedLine tone_line(const Source& source, const Interval& hertz) {
  ExpectedLine tone = line("tone", {.unit = Unit::hertz, .turns = hertz}, {1.0, 1.0}, 1.0);
  tone.shaft = {};
  if (source.makes.size() != 1) return tone;
  const Makes& makes = source.makes.front();
  tone.what = makes.what;
  tone.shaft = {hertz.low / makes.per_turn.high, hertz.high / makes.per_turn.low};
  return tone;
}

void scale_to_one(std::vector<ExpectedLine>& lines) {
  double sum = 0.0;
  for (const ExpectedLine& one : lines) sum += one.share;
  for (ExpectedLine& one : lines) one.share /= sum;
}

}  // namespace

std::vector<ExpectedLine> expected_lines(const Source& source) {
  if (const auto hertz = hertz_of(source.turning)) return {tone_line(source, *hertz)};
  const auto shaft = std::visit(RateOfShaft{}, source.turning);
  if (!shaft) return {};
  std::vector<ExpectedLine> lines;
  for (const Makes& makes : source.makes) add_lines(makes, *shaft, lines);
  scale_to_one(lines);
  return lines;
}

}  // namespace howl
