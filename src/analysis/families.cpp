#include "src/analysis/families.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kOutstandingDb = 8.0;
constexpr int kHighestMultiple = 8;

bool locked(const ToneResult& tone) {
  return tone.behaviour == Behaviour::speed_locked && tone.order;
}

/// Whether a tone's order is a multiple of `step`: the multiple lies in its interval, give or take
/// a thousandth. A belt's order drifts and is a multiple of nothing.
std::optional<int> multiple_of(const ToneResult& tone, double step) {
  if (tone.drive == Drive::belt) return std::nullopt;
  const double whole = std::round(*tone.order / step);
  const double slack = 0.001 * *tone.order;
  const Interval own = tone.order_ci95.value_or(Interval{*tone.order, *tone.order});
  const bool inside = whole * step > own.low - slack && whole * step < own.high + slack;
  // An interval wider than the grid says nothing.
  if (whole < 1.0 || !inside || own.width() > 0.8 * step) return std::nullopt;
  return static_cast<int>(whole);
}

/// Level of the firing harmonics against ln order: median of pairwise slopes (Theil 1950, Sen
/// 1968).
struct Fall {
  double at_one;
  double slope;
  double level(double order) const { return at_one + slope * std::log(order); }
};

/// Fall of the given tones; none for fewer than three.
std::optional<Fall> fit_fall(const std::vector<const ToneResult*>& tones) {
  std::vector<double> x;
  std::vector<double> y;
  for (const ToneResult* t : tones) {
    x.push_back(std::log(*t->order));
    y.push_back(t->typical_level_db);
  }
  if (x.size() < 3) return std::nullopt;
  std::vector<double> slopes;
  for (std::size_t i = 0; i < x.size(); ++i)
    for (std::size_t j = i + 1; j < x.size(); ++j)
      if (std::abs(x[j] - x[i]) > 0.05) slopes.push_back((y[j] - y[i]) / (x[j] - x[i]));
  if (slopes.empty()) return std::nullopt;
  const double slope = std::min(0.0, median(slopes));
  std::vector<double> offsets;
  for (std::size_t i = 0; i < x.size(); ++i) offsets.push_back(y[i] - slope * x[i]);
  return Fall{median(offsets), slope};
}

}  // namespace

void mark_combustion(std::vector<ToneResult>& tones, std::optional<int> cylinders) {
  constexpr double unknown_engine_up_to = 6.0;
  std::vector<const ToneResult*> firing;
  std::vector<const ToneResult*> uneven;
  for (const ToneResult& t : tones) {
    if (!locked(t) || !multiple_of(t, 0.5)) continue;
    (cylinders && multiple_of(t, *cylinders / 2.0) ? firing : uneven).push_back(&t);
  }
  const std::optional<Fall> firing_fall = fit_fall(firing);
  const std::optional<Fall> uneven_fall = fit_fall(uneven);
  const auto along = [](const ToneResult& t, const std::optional<Fall>& fall) {
    return fall && t.typical_level_db < fall->level(*t.order) + kOutstandingDb;
  };
  for (ToneResult& t : tones) {
    if (!locked(t) || !multiple_of(t, 0.5)) continue;
    if (!cylinders) {
      t.combustion = *t.order <= unknown_engine_up_to;
    } else if (multiple_of(t, *cylinders / 2.0)) {
      t.combustion = firing_fall ? along(t, firing_fall) : *t.order <= 1.5 * *cylinders;
    } else {
      const bool faint =
          firing_fall && t.typical_level_db < firing_fall->level(*t.order) - kOutstandingDb;
      t.combustion = !t.prominent && (uneven.size() >= 4 ? along(t, uneven_fall) : faint);
    }
  }
}

void name_families(std::vector<ToneResult>& tones) {
  std::vector<ToneResult*> open;
  for (ToneResult& t : tones) {
    if (t.combustion)
      t.family = "firing";
    else if (locked(t))
      open.push_back(&t);
  }
  std::sort(open.begin(), open.end(),
            [](const ToneResult* a, const ToneResult* b) { return *a->order < *b->order; });
  char name = 'A';
  for (ToneResult* base : open) {
    if (base->family) continue;
    std::vector<ToneResult*> members;
    for (ToneResult* t : open) {
      if (t == base || t->family) continue;
      const auto k = multiple_of(*t, *base->order);
      if (k && *k >= 2 && *k <= kHighestMultiple) members.push_back(t);
    }
    if (members.empty() || name > 'Z') continue;
    base->family = std::string(1, name);
    for (ToneResult* t : members) t->family = base->family;
    ++name;
  }
}

}  // namespace howl
