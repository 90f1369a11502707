#include "src/profile/expected_lines.h"

#include <fmt/format.h>

#include <cmath>

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

ExpectedLine line(const std::string& what, const ShaftRate& shaft, const Interval& per_turn,
                  double share) {
  const Interval at{shaft.turns.low * per_turn.low, shaft.turns.high * per_turn.high};
  const bool whole = at.width() == 0.0 && at.low == std::round(at.low);
  return {.what = what,
          .unit = shaft.unit,
          .at = at,
          .exact = shaft.rigid && whole,
          .share = share,
          .shaft = shaft.turns};
}

std::string counted_text(double count, const std::string& what) {
  return what.empty() ? fmt::format("{:g}", count) : fmt::format("{:g} {}", count, what);
}

void add_lines(const Makes& makes, const ShaftRate& shaft, std::vector<ExpectedLine>& lines) {
  if (!makes.whole_numbers) {
    lines.push_back(line(makes.what, shaft, makes.per_turn, makes.share));
    return;
  }
  const double first = std::ceil(makes.per_turn.low);
  const double last = std::floor(makes.per_turn.high);
  const double share = makes.share / (last - first + 1.0);
  for (double n = first; n <= last; ++n)
    lines.push_back(line(counted_text(n, makes.what), shaft, {n, n}, share));
}

std::optional<Interval> hertz_of(const Turning& turning) {
  if (const auto* free = std::get_if<FreeTurning>(&turning)) return free->hertz;
  if (const auto* ringing = std::get_if<Ringing>(&turning)) return ringing->hertz;
  return std::nullopt;
}

/// A tone of known pitch, whatever makes it; its shaft turns once for all that it makes.
ExpectedLine tone_line(const Source& source, const Interval& hertz) {
  ExpectedLine tone{.what = "tone", .unit = Unit::hertz, .at = hertz, .share = 1.0, .shaft = {}};
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
