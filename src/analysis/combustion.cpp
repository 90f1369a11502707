#include "src/analysis/combustion.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "dsp/statistics.h"
#include "src/analysis/pitch_ratio.h"

namespace howl {

namespace {

constexpr std::size_t kFewestOthers = 3;
constexpr double kSharpWidth = 0.004;

bool locked(const ToneResult& tone) {
  return tone.behaviour == Behaviour::speed_locked && tone.order;
}

/// An order and its 95 % interval.
struct OrderPlace {
  double order;
  Interval ci95;
};

OrderPlace place_of(const ToneResult& tone) {
  return {*tone.order, tone.order_ci95.value_or(Interval{*tone.order, *tone.order})};
}

OrderPlace place_if_locked(const ToneResult& tone) {
  const LogEstimate& order = *tone.order_if_locked;
  const double reach = std::exp(kNormal95 * order.log_sigma);
  return {order.value, {order.value / reach, order.value * reach}};
}

/// Whether an order is a multiple of `step`: the multiple lies in its interval, give or take
/// a thousandth.
bool is_multiple_of(const OrderPlace& place, double step) {
  const double whole = std::round(place.order / step);
  const double slack = 0.001 * place.order;
  const Interval& own = place.ci95;
  const bool inside = whole * step > own.low - slack && whole * step < own.high + slack;
  // An interval wider than the grid says nothing.
  return whole >= 1.0 && inside && own.width() < 0.8 * step;
}

/// A tone that keeps an order, and where that lies. A belt's drifts and is a multiple of nothing.
struct LockedTone {
  ToneResult* tone;
  OrderPlace place;
};

std::vector<LockedTone> locked_tones(std::vector<ToneResult>& tones) {
  std::vector<LockedTone> found;
  for (ToneResult& tone : tones)
    if (locked(tone) && tone.drive != Drive::belt) found.push_back({&tone, place_of(tone)});
  return found;
}

/// Where a tone's order lies by those of half orders that were followed at the same moments: free
/// of the speed's error. None by fewer than three.
std::optional<OrderPlace> place_by(const std::vector<LockedTone>& half_orders,
                                   const ToneResult& tone) {
  constexpr double ratio_error = 0.002;
  std::vector<double> orders;
  for (const LockedTone& half_order : half_orders) {
    if (half_order.tone == &tone) continue;
    if (const auto ratio = pitch_ratio(tone, *half_order.tone))
      orders.push_back(ratio->value * 0.5 * std::round(2.0 * half_order.place.order));
  }
  if (orders.size() < kFewestOthers) return std::nullopt;
  const double order = median(orders);
  return OrderPlace{order, {order * (1.0 - ratio_error), order * (1.0 + ratio_error)}};
}

/// An order that the speed's error leaves wider than the grid is measured by those that are surely
/// half orders.
void measure_by_half_orders(std::vector<LockedTone>& tones) {
  std::vector<LockedTone> half_orders;
  for (const LockedTone& tone : tones)
    if (is_multiple_of(tone.place, 0.5)) half_orders.push_back(tone);
  for (LockedTone& tone : tones) {
    if (is_multiple_of(tone.place, 0.5)) continue;
    const auto place = place_by(half_orders, *tone.tone);
    if (place && tone.place.ci95.contains(place->order)) tone.place = *place;
  }
}

struct OrderLine {
  ToneResult* tone;
  OrderPlace place;
  double x;         ///< ln order
  double level_db;  ///< typical over the speeds
  bool stands_out{};
};

/// Levels against ln order.
struct Fall {
  double at_one;
  double slope;
  double scatter_db;
  double degrees;  ///< of freedom of the scatter
  double mean_x;
  double sum_xx;  ///< about the mean
  double count;

  double level(double x) const { return at_one + slope * x; }
  /// How far above the line a tone at x may lie by chance alone.
  double reach_db(double x, double chance) const {
    const double leverage = (x - mean_x) * (x - mean_x) / sum_xx;
    return student_quantile(1.0 - chance, degrees) * scatter_db *
           std::sqrt(1.0 + 1.0 / count + leverage);
  }
};

double median_slope(const std::vector<const OrderLine*>& lines) {
  constexpr double same_order = 0.05;
  std::vector<double> slopes;
  for (std::size_t i = 0; i < lines.size(); ++i)
    for (std::size_t j = i + 1; j < lines.size(); ++j)
      if (std::abs(lines[j]->x - lines[i]->x) > same_order)
        slopes.push_back((lines[j]->level_db - lines[i]->level_db) / (lines[j]->x - lines[i]->x));
  // Levels do not rise with order.
  return slopes.empty() ? 0.0 : std::min(0.0, median(slopes));
}

/// Fall of all lines but one and those that stand out; none for fewer than three.
std::optional<Fall> fall_without(const std::vector<OrderLine>& lines, const OrderLine* without,
                                 const CombustionParameters& p) {
  std::vector<const OrderLine*> used;
  for (const OrderLine& line : lines)
    if (&line != without && !line.stands_out) used.push_back(&line);
  if (used.size() < kFewestOthers) return std::nullopt;
  const double slope = median_slope(used);
  std::vector<double> offsets;
  std::vector<double> x;
  for (const OrderLine* line : used) {
    offsets.push_back(line->level_db - slope * line->x);
    x.push_back(line->x);
  }
  const double at_one = median(offsets);
  for (double& offset : offsets) offset = std::abs(offset - at_one);
  const double own_scatter = 1.4826 * median(offsets);  // consistent for a normal distribution
  const auto count = static_cast<double>(used.size());
  const double degrees = p.scatter_worth + count - 2.0;
  const double scatter = std::sqrt(
      (p.scatter_worth * p.scatter_db * p.scatter_db + (count - 2.0) * own_scatter * own_scatter) /
      degrees);
  const double spread = standard_deviation(x);
  return Fall{at_one, slope, scatter, degrees, mean(x), (count - 1.0) * spread * spread, count};
}

/// Judges every line by the others, until no verdict changes any more.
void find_outstanding(std::vector<OrderLine>& lines, const CombustionParameters& p) {
  constexpr int rounds = 5;
  for (int round = 0; round < rounds; ++round) {
    std::vector<bool> verdicts;
    for (const OrderLine& line : lines) {
      const auto fall = fall_without(lines, &line, p);
      verdicts.push_back(fall ? line.level_db - fall->level(line.x) >
                                    fall->reach_db(line.x, p.stands_out)
                              : line.stands_out);
    }
    bool changed = false;
    for (std::size_t i = 0; i < lines.size(); ++i) {
      changed = changed || lines[i].stands_out != verdicts[i];
      lines[i].stands_out = verdicts[i];
    }
    if (!changed) return;
  }
}

std::vector<OrderLine> lines_of(const std::vector<LockedTone>& tones, bool firing, int cylinders) {
  std::vector<OrderLine> lines;
  for (const LockedTone& t : tones)
    if (is_multiple_of(t.place, 0.5) && is_multiple_of(t.place, 0.5 * cylinders) == firing)
      lines.push_back({t.tone, t.place, std::log(*t.tone->order), t.tone->typical_level_db});
  return lines;
}

void mark_firing(std::vector<OrderLine>& lines, int cylinders, const CombustionParameters& p) {
  find_outstanding(lines, p);
  const bool fitted = lines.size() > kFewestOthers;
  for (const OrderLine& line : lines)
    line.tone->combustion = fitted ? !line.stands_out : *line.tone->order <= 1.5 * cylinders;
}

void mark_uneven(std::vector<OrderLine>& lines, const std::vector<OrderLine>& firing,
                 const CombustionParameters& p) {
  find_outstanding(lines, p);
  const auto firing_fall = fall_without(firing, nullptr, p);
  const bool fitted = lines.size() > kFewestOthers;
  for (const OrderLine& line : lines) {
    const bool faint =
        firing_fall &&
        line.level_db < firing_fall->level(line.x) - firing_fall->reach_db(line.x, p.stands_out);
    line.tone->combustion = !line.tone->prominent && (fitted ? !line.stands_out : faint);
    line.tone->maybe_combustion =
        line.tone->prominent && fitted && !line.stands_out && !is_multiple_of(line.place, 1.0);
  }
}

// ---- Firing orders that swell at one speed

constexpr double kLowestHowlHz = 80.0;  // what is lower is called a boom (common practice)

/// What a firing order was like in a take of steady speed.
struct Heard {
  OrderLine* line;
  double rpm;
  double hertz;
  double level_db;
  bool stands_out{};
};

/// By take; those of changing speed left out.
std::map<std::string, std::vector<Heard>> heard_in_holds(std::vector<OrderLine>& lines) {
  constexpr double steady = 1.03;
  std::map<std::string, std::vector<Heard>> holds;
  for (OrderLine& line : lines) {
    std::map<std::string, std::vector<const TrackPoint*>> by_take;
    for (const TrackPoint& point : line.tone->track) by_take[point.take].push_back(&point);
    for (const auto& [take, points] : by_take) {
      const auto [slowest, fastest] = std::ranges::minmax(points, {}, &TrackPoint::rpm);
      if (fastest->rpm > steady * slowest->rpm) continue;
      Heard heard{&line, 0.0, 0.0, 0.0};
      const auto share = 1.0 / static_cast<double>(points.size());
      for (const TrackPoint* point : points) {
        heard.rpm += share * point->rpm;
        heard.hertz += share * point->frequency_hz;
        heard.level_db += share * point->level_db;
      }
      holds[take].push_back(heard);
    }
  }
  return holds;
}

/// Judges the firing orders of one take by each other.
void judge(std::vector<Heard>& hold, const CombustionParameters& p) {
  std::vector<OrderLine> lines;
  for (const Heard& heard : hold) {
    lines.push_back(*heard.line);
    lines.back().level_db = heard.level_db;
    lines.back().stands_out = false;
  }
  if (lines.size() <= kFewestOthers) return;
  find_outstanding(lines, p);
  for (std::size_t i = 0; i < hold.size(); ++i) hold[i].stands_out = lines[i].stands_out;
}

/// The loudest of those in which a line stands out at a speed at which it does in half of the
/// takes.
const Heard* swelling(const OrderLine& line,
                      const std::map<std::string, std::vector<Heard>>& holds) {
  constexpr double one_speed = 0.02;
  std::vector<const Heard*> own;
  for (const auto& [take, hold] : holds)
    for (const Heard& heard : hold)
      if (heard.line == &line && heard.hertz >= kLowestHowlHz) own.push_back(&heard);
  const Heard* loudest = nullptr;
  for (const Heard* at : own) {
    if (!at->stands_out) continue;
    int there = 0;
    int out = 0;
    for (const Heard* other : own) {
      if (std::abs(std::log(other->rpm / at->rpm)) > one_speed) continue;
      ++there;
      out += other->stands_out ? 1 : 0;
    }
    if (2 * out >= there && (loudest == nullptr || at->level_db > loudest->level_db)) loudest = at;
  }
  return loudest;
}

/// Whether a howl of steady pitch is known there, which then makes orders swell that come by.
bool is_known_to_ring(const std::vector<ToneResult>& tones, double hertz) {
  constexpr double near = 0.05;
  return std::ranges::any_of(tones, [&](const ToneResult& tone) {
    return tone.behaviour == Behaviour::fixed_pitch && tone.prominent &&
           hertz > tone.frequency_hz.low * (1.0 - near) &&
           hertz < tone.frequency_hz.high * (1.0 + near);
  });
}

/// What stands out at the speed that was recorded is what howls there, though at other speeds it
/// does not.
void mark_swelling(const std::vector<ToneResult>& tones, std::vector<OrderLine>& lines,
                   const CombustionParameters& p) {
  auto holds = heard_in_holds(lines);
  for (auto& [take, hold] : holds) judge(hold, {p.swells, p.scatter_db, p.scatter_worth});
  for (OrderLine& line : lines) {
    ToneResult& tone = *line.tone;
    if (!tone.combustion || !tone.prominent) continue;
    const Heard* const heard = swelling(line, holds);
    if (heard == nullptr || is_known_to_ring(tones, heard->hertz)) continue;
    tone.combustion = false;
    tone.swells_at_hz = heard->hertz;
    tone.advice = fmt::format(
        "the engine's firing makes this order too, but at {:.0f} rpm it is far louder than the "
        "firing orders beside it: something may resonate at {:.0f} Hz; pass that speed slowly, "
        "and see whether other orders swell at that pitch too",
        heard->rpm, heard->hertz);
  }
}

/// Undetermined tones against the firing orders that are settled and against each other.
void mark_possible_firing(std::vector<ToneResult>& tones, std::vector<OrderLine> lines,
                          int cylinders, const CombustionParameters& p) {
  const std::size_t settled = lines.size();
  for (ToneResult& t : tones) {
    if (t.behaviour != Behaviour::undetermined || !t.order_if_locked) continue;
    const OrderPlace place = place_if_locked(t);
    const bool sharp = place.ci95.width() < kSharpWidth * place.order;
    if (is_multiple_of(place, 0.5 * cylinders) && (sharp || place.ci95.low <= 2.0 * cylinders))
      lines.push_back({&t, place, std::log(place.order), t.typical_level_db});
  }
  find_outstanding(lines, p);
  const bool fitted = lines.size() > kFewestOthers;
  for (std::size_t i = settled; i < lines.size(); ++i)
    lines[i].tone->maybe_combustion =
        fitted ? !lines[i].stands_out : std::exp(lines[i].x) <= 1.5 * cylinders;
}

}  // namespace

void mark_combustion(std::vector<ToneResult>& tones, std::optional<int> cylinders,
                     const CombustionParameters& parameters) {
  constexpr double unknown_engine_up_to = 6.0;
  std::vector<LockedTone> known = locked_tones(tones);
  if (!cylinders) {
    for (const LockedTone& t : known)
      t.tone->combustion = is_multiple_of(t.place, 0.5) && *t.tone->order <= unknown_engine_up_to;
    return;
  }
  measure_by_half_orders(known);
  std::vector<OrderLine> firing = lines_of(known, true, *cylinders);
  std::vector<OrderLine> uneven = lines_of(known, false, *cylinders);
  mark_firing(firing, *cylinders, parameters);
  mark_swelling(tones, firing, parameters);
  mark_uneven(uneven, firing, parameters);
  mark_possible_firing(tones, firing, *cylinders, parameters);
}

}  // namespace howl
