#include "src/analysis/strike_lines.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "dsp/peaks.h"
#include "dsp/tone_fit.h"

namespace howl {

namespace {

constexpr int kMostMultiples = 10;
// A line is looked at from 2.5 lines off a half order, and a maximum can be read half a line off
// it: up to the fifth multiple is the first to stand clear.
constexpr int kMostParts = 5;
constexpr double kStrikeSlip = 0.025;
constexpr double kPlaceChance = 0.01;  // for a multiple or sideband of a base already found
// The floor's own error and overlapping blocks make the tail heavier than chi-square's: on
// synthetic noise, swells of an engine included, by 1.5 to 2.5 at a chance of 1e-5.
constexpr double kTailCost = 3.0;
constexpr double kLeastChance = 1e-12;  // what the tail's arithmetic can tell

struct StrikeLine {
  std::size_t index{};
  double order{};
  double sigma{};
  double chance{};  ///< of noise, for this line alone
  double over_floor{};
  bool clear{};  ///< of half orders and what leaks from there
};

/// One envelope spectrum with its floor.
class Floored {
 public:
  Floored(const PowerSpectrum& spectrum, const std::vector<double>& floor,
          const StrikeParameters& parameters)
      : spectrum_(spectrum), floor_(floor), parameters_(parameters) {}

  double over_floor(std::size_t line) const { return spectrum_.power[line] / floor_[line]; }

  double chance(std::size_t line) const {
    const double n = spectrum_.effective_averages;
    return std::max(kLeastChance, kTailCost * (1.0 - gamma_p(n, n * over_floor(line))));
  }

  bool counts(std::size_t line) const {
    return may_count(spectrum_.position(line), spectrum_.spacing);
  }

  /// Whether noise makes this line anywhere in the take with less than the chance that is allowed.
  bool outstanding(std::size_t line) const {
    return chance(line) < parameters_.false_alarm / std::max(1.0, parameters_.lines_looked_at);
  }

  /// A maximum that no other line's side lobes explain (Hann: −31 dB at 2.5 lines, 18 dB an octave;
  /// Harris 1978), with a factor 3 to spare.
  bool stands_alone(std::size_t line) const {
    const auto& power = spectrum_.power;
    if (line < 2 || line + 2 >= power.size()) return false;
    for (std::size_t near = line - 2; near <= line + 2; ++near)
      if (power[near] > power[line]) return false;
    for (std::size_t other = 2; other < power.size(); ++other) {
      const double away = std::abs(static_cast<double>(other) - static_cast<double>(line));
      if (away > 2.0 && power[other] * side_lobe(away) > power[line]) return false;
    }
    return true;
  }

  StrikeLine line_at(std::size_t index) const {
    const ToneFit fit = fit_tone(spectrum_, index, floor_[index]);
    return {index,
            spectrum_.position(index) + fit.offset * spectrum_.spacing,
            position_sigma(index, fit),
            chance(index),
            over_floor(index),
            counts(index)};
  }

  /// Whether noise is as high as the highest line within `reach` orders of `order`, the engine's or
  /// not, with the chance that is allowed for one place.
  bool anything_near(double order, double reach) const {
    return place_chance(order, reach, [](std::size_t) { return true; }) < kPlaceChance;
  }

  /// Whether something that is not the engine's stands within `reach` orders of `order`.
  bool stands_near(double order, double reach) const {
    return place_chance(order, reach, [&](std::size_t k) { return counts(k); }) < kPlaceChance;
  }

  /// A maximum that noise makes with no more than the chance allowed, and the engine does not. It
  /// may be beside a half order as long as it is none itself: what leaks from there has its maximum
  /// there.
  std::optional<StrikeLine> maximum_at(std::size_t index) const {
    if (!outstanding(index) || !stands_alone(index)) return std::nullopt;
    const StrikeLine line = line_at(index);
    if (!line.clear && !may_count(line.order, line.sigma)) return std::nullopt;
    return line;
  }

  /// Highest line within `reach` orders, over its floor; 0 where there is none.
  double height_near(double order, double reach) const {
    double highest = 0.0;
    const auto [first, end] = lines_near(order, reach);
    for (std::size_t k = first; k < end; ++k) highest = std::max(highest, over_floor(k));
    return highest;
  }

  double spacing() const { return spectrum_.spacing; }

 private:
  /// Lines first … end − 1.
  struct Lines {
    std::size_t first{};
    std::size_t end{};
  };

  Lines lines_near(double order, double reach) const {
    const double first = std::max(2.0, std::ceil((order - reach) / spectrum_.spacing));
    const double last = std::max(0.0, std::floor((order + reach) / spectrum_.spacing));
    return {static_cast<std::size_t>(first),
            std::min(spectrum_.power.size(), static_cast<std::size_t>(last) + 1)};
  }

  bool may_count(double order, double width) const {
    return parameters_.orders.contains(order) && parameters_.may_count(order, width);
  }

  /// Chance of noise to be as high as the highest of the lines there that `looked_at` is true of; 1
  /// where there are none.
  template <typename LookedAt>
  double place_chance(double order, double reach, const LookedAt& looked_at) const {
    const auto [first, end] = lines_near(order, reach);
    double least = 1.0;
    double places = 0.0;
    for (std::size_t k = first; k < end; ++k)
      if (looked_at(k)) {
        least = std::min(least, chance(k));
        places += 1.0;
      }
    return places > 0.0 ? std::min(1.0, places * least) : 1.0;
  }

  static double side_lobe(double lines_away) {
    return 3.0 * 7.9e-4 * std::pow(2.5 / lines_away, 6.0);
  }

  /// What the fit says, but no better than a line as wide as this one allows.
  double position_sigma(std::size_t index, const ToneFit& fit) const {
    double weight = 0.0;
    double spread = 0.0;
    for (int step = -3; step <= 3; ++step) {
      const auto k = static_cast<std::size_t>(static_cast<std::ptrdiff_t>(index) + step);
      if (k >= spectrum_.power.size()) continue;
      const double power = std::max(0.0, spectrum_.power[k] - floor_[k]);
      weight += power;
      spread += power * (step - fit.offset) * (step - fit.offset);
    }
    const double width = weight > 0.0 ? std::sqrt(spread / weight) : 1.0;
    return spectrum_.spacing *
           std::max(fit.offset_sigma, width / std::sqrt(2.0 * spectrum_.effective_averages));
  }

  const PowerSpectrum& spectrum_;
  const std::vector<double>& floor_;
  const StrikeParameters& parameters_;
};

std::vector<StrikeLine> outstanding_lines(const PowerSpectrum& spectrum, const Floored& floored) {
  std::vector<StrikeLine> lines;
  for (std::size_t k = 2; k + 2 < spectrum.power.size(); ++k)
    if (const auto line = floored.maximum_at(k)) lines.push_back(*line);
  std::stable_sort(lines.begin(), lines.end(), [](const StrikeLine& a, const StrikeLine& b) {
    return a.over_floor > b.over_floor;
  });
  return lines;
}

double reach_of(const Floored& floored, const StrikeLine& line, double multiple) {
  return std::max(1.5 * floored.spacing(), 2.5 * multiple * line.sigma);
}

/// Which multiple of `base` a line is, if it is one.
std::optional<int> multiple_of(const StrikeLine& line, double base, double reach) {
  const double times = std::round(line.order / base);
  if (times < 1.0 || times > kMostMultiples) return std::nullopt;
  if (std::abs(line.order - times * base) > reach) return std::nullopt;
  return static_cast<int>(times);
}

std::size_t explained_by(const std::vector<StrikeLine>& lines, const Floored& floored,
                         const StrikeLine& from, double base) {
  return static_cast<std::size_t>(
      std::count_if(lines.begin(), lines.end(), [&](const StrikeLine& line) {
        return multiple_of(line, base, reach_of(floored, from, line.order / from.order))
            .has_value();
      }));
}

struct Base {
  double order{};
  int part{1};  ///< the line it comes from is this multiple of it
};

/// The line itself, or the part of it where something is too and that explains more lines.
Base base_of(const std::vector<StrikeLine>& lines, const Floored& floored, const StrikeLine& line,
             double lowest) {
  Base best{line.order, 1};
  std::size_t most = explained_by(lines, floored, line, line.order);
  for (int part = 2; part <= kMostParts; ++part) {
    const double order = line.order / part;
    if (order < lowest) break;
    if (!floored.anything_near(order, reach_of(floored, line, 1.0 / part))) continue;
    const std::size_t count = explained_by(lines, floored, line, order);
    if (count > most) {
      most = count;
      best = {order, part};
    }
  }
  return best;
}

int harmonics_of(const std::vector<StrikeLine>& lines, const Floored& floored,
                 const StrikeLine& from, const Base& base, double highest) {
  int count = 0;
  for (int k = 1; k <= kMostMultiples && k * base.order <= highest; ++k) {
    const double reach = reach_of(floored, from, static_cast<double>(k) / base.part);
    count += k == base.part || floored.stands_near(k * base.order, reach) ||
             std::any_of(lines.begin(), lines.end(), [&](const StrikeLine& line) {
               return multiple_of(line, base.order, reach) == k;
             });
  }
  return count;
}

/// The distance from a multiple of the base at which a line stands on either side of it.
std::optional<double> sideband_distance(const Floored& floored, const StrikeLine& line,
                                        double base) {
  const double multiple = std::round(line.order / base);
  if (multiple < 1.0) return std::nullopt;
  const double distance = std::abs(line.order - multiple * base);
  const double reach = reach_of(floored, line, 1.0);
  if (distance < 2.0 * reach) return std::nullopt;
  if (!floored.stands_near(2.0 * multiple * base - line.order, 2.0 * reach)) return std::nullopt;
  return distance;
}

bool is_half_order(double distance, double reach) {
  return std::abs(distance - 0.5 * std::round(2.0 * distance)) < reach;
}

bool is_whole_multiple(double distance, double step, double reach) {
  const double times = std::round(distance / step);
  return times >= 1.0 && times <= 4.0 && std::abs(distance - times * step) < reach;
}

/// Whether a line stands beside a higher multiple of the base, at a distance that swells make: the
/// engine's cycle swells whatever it carries, by half orders, and the sideband's shaft does. Such a
/// line is weaker than the multiple and than the swell's own line.
bool beside_multiple(const StrikeLine& line, const Floored& floored, double base, double reach,
                     const std::optional<double>& sideband) {
  for (int k = 1; k <= kMostMultiples; ++k) {
    const double distance = std::abs(line.order - k * base);
    if (floored.height_near(k * base, reach) < line.over_floor) continue;
    const bool engine_swells = floored.height_near(distance, reach) >= line.over_floor;
    if (engine_swells && is_half_order(distance, reach)) return true;
    if (sideband && is_whole_multiple(distance, *sideband, 2.0 * reach)) return true;
  }
  return false;
}

/// Takes what belongs to the family out of `lines`: multiples, as far as elements slip (2.5 %), and
/// what stands beside them.
void remove_explained(std::vector<StrikeLine>& lines, const Floored& floored,
                      const StrikeLine& from, double base, const std::optional<double>& sideband) {
  std::erase_if(lines, [&](const StrikeLine& line) {
    const double reach = reach_of(floored, from, std::max(1.0, line.order / from.order));
    return line.index == from.index ||
           multiple_of(line, base, std::max(reach, kStrikeSlip * line.order)).has_value() ||
           beside_multiple(line, floored, base, reach, sideband);
  });
}

std::optional<double> sideband_of(const std::vector<StrikeLine>& lines, const Floored& floored,
                                  const StrikeLine& from, double base) {
  for (const StrikeLine& line : lines) {
    const double reach = reach_of(floored, from, std::max(1.0, line.order / from.order));
    if (!line.clear || multiple_of(line, base, reach)) continue;
    const auto distance = sideband_distance(floored, line, base);
    if (distance && !is_half_order(*distance, reach)) return distance;
  }
  return std::nullopt;
}

std::vector<StrikeLine>::const_iterator first_clear(const std::vector<StrikeLine>& lines) {
  return std::find_if(lines.begin(), lines.end(),
                      [](const StrikeLine& line) { return line.clear; });
}

}  // namespace

std::size_t lines_to_look_at(const PowerSpectrum& spectrum, const StrikeParameters& parameters) {
  std::size_t count = 0;
  for (std::size_t k = 2; k + 2 < spectrum.power.size(); ++k) {
    const double order = spectrum.position(k);
    count += parameters.orders.contains(order) && parameters.may_count(order, spectrum.spacing);
  }
  return count;
}

std::vector<StrikeFamily> find_strikes(const PowerSpectrum& spectrum,
                                       const std::vector<double>& floor,
                                       const StrikeParameters& parameters) {
  if (spectrum.power.size() < 8 || !(spectrum.effective_averages > 0.0)) return {};
  const Floored floored(spectrum, floor, parameters);
  std::vector<StrikeLine> lines = outstanding_lines(spectrum, floored);
  std::vector<StrikeFamily> families;
  for (auto next = first_clear(lines); next != lines.end(); next = first_clear(lines)) {
    const StrikeLine line = *next;
    const Base base = base_of(lines, floored, line, parameters.orders.low);
    StrikeFamily family;
    family.order = base.order;
    family.sigma = line.sigma / base.part;
    family.harmonics = harmonics_of(lines, floored, line, base, parameters.orders.high);
    family.sideband_order = sideband_of(lines, floored, line, base.order);
    family.strongest_line = line.index;
    family.false_alarm = std::min(1.0, parameters.lines_looked_at * line.chance);
    remove_explained(lines, floored, line, base.order, family.sideband_order);
    families.push_back(family);
  }
  return families;
}

}  // namespace howl
