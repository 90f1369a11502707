#include "src/analysis/cylinders_heard.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace howl {

namespace {

constexpr std::array kUsualCylinders{3, 4, 5, 6, 8, 10, 12};
constexpr int kFirings = 3;
constexpr double kUnheard = -std::numeric_limits<double>::infinity();

/// Of what keeps that order of the engine, without a belt's slip.
double level_at(const std::vector<ToneResult>& tones, double order) {
  constexpr double near = 0.005;
  double level = kUnheard;
  for (const ToneResult& tone : tones)
    if (tone.behaviour == Behaviour::speed_locked && tone.drive != Drive::belt && tone.order &&
        std::abs(*tone.order / order - 1.0) < near)
      level = std::max(level, tone.typical_level_db);
  return level;
}

bool is_firing(int half_orders, int cylinders) { return half_orders % cylinders == 0; }

/// By how much the first firing orders of one number stand over those of the stated number alone,
/// and how much they would have to.
struct Lead {
  double db{kUnheard};
  double needed_db{6.0};
};

Lead lead_of(const std::vector<ToneResult>& tones, int heard, int stated) {
  constexpr double among_stated_db = 10.0;
  double weakest = std::numeric_limits<double>::infinity();
  double strongest = kUnheard;
  bool any_stated_alone = false;
  for (int half_orders = 1; half_orders <= kFirings * heard; ++half_orders) {
    const double order = 0.5 * half_orders;
    if (is_firing(half_orders, heard)) {
      weakest = std::min(weakest, level_at(tones, order));
    } else if (is_firing(half_orders, stated)) {
      strongest = std::max(strongest, level_at(tones, order));
      any_stated_alone = true;
    }
  }
  // Where none of the stated ones is heard, nobody knows how far below they lie.
  if (!any_stated_alone || strongest == kUnheard || weakest == kUnheard) return {};
  Lead lead;
  lead.db = weakest - strongest;
  if (heard % stated == 0) lead.needed_db = among_stated_db;
  return lead;
}

}  // namespace

std::string doubt_of_cylinders(const std::vector<ToneResult>& tones, std::optional<int> cylinders) {
  if (!cylinders) return {};
  int best = 0;
  double most = 0.0;
  for (const int heard : kUsualCylinders) {
    if (heard == *cylinders) continue;
    const Lead lead = lead_of(tones, heard, *cylinders);
    if (lead.db >= lead.needed_db && lead.db > most) {
      most = lead.db;
      best = heard;
    }
  }
  if (best == 0) return {};
  return fmt::format(
      "The engine sounds as if it had {} cylinders, not {}: orders {:g}, {:g} and {:g} stand "
      "{:.0f} dB or more over its own firing orders. See whether profile and speeds are right, or "
      "what the engine makes is taken for a howl",
      best, *cylinders, 0.5 * best, 1.0 * best, 1.5 * best, most);
}

}  // namespace howl
