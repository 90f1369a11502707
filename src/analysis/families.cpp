#include "src/analysis/families.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kOutstandingDb = 8.0;
constexpr double kMultipleTolerance = 0.004;  // relative, beside the order's own interval
constexpr int kHighestMultiple = 8;

bool locked(const ToneResult& tone) {
  return tone.behaviour == Behaviour::speed_locked && tone.order;
}

/// Whether `order` is a multiple of `step` within its interval and tolerance; gives the multiple.
std::optional<int> multiple_of(const ToneResult& tone, double step) {
  const double ratio = *tone.order / step;
  const double whole = std::round(ratio);
  const double own = tone.order_ci95 ? 0.5 * tone.order_ci95->width() / *tone.order : 0.0;
  const double reach = ratio * std::hypot(kMultipleTolerance, own);
  if (whole < 1.0 || std::abs(ratio - whole) > std::min(reach, 0.2)) return std::nullopt;
  return static_cast<int>(whole);
}

/// Level of the firing harmonics against ln order: median of pairwise slopes (Theil 1950, Sen
/// 1968).
struct Fall {
  double at_one;
  double slope;
  double level(double order) const { return at_one + slope * std::log(order); }
};

std::optional<Fall> fit_fall(const std::vector<ToneResult>& tones, double firing) {
  std::vector<double> x;
  std::vector<double> y;
  for (const ToneResult& t : tones)
    if (locked(t) && multiple_of(t, firing)) {
      x.push_back(std::log(*t.order));
      y.push_back(t.typical_level_db);
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
  const double firing = cylinders ? *cylinders / 2.0 : 0.5;
  const double always_up_to = cylinders ? 1.5 * *cylinders : 6.0;
  const std::optional<Fall> fall = cylinders ? fit_fall(tones, firing) : std::nullopt;
  for (ToneResult& t : tones) {
    if (!locked(t) || !multiple_of(t, 0.5)) continue;
    t.combustion = fall ? t.typical_level_db < fall->level(*t.order) + kOutstandingDb
                        : *t.order <= always_up_to;
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
