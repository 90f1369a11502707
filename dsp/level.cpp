#include "dsp/level.h"

#include <cmath>

namespace howl {
namespace {

double total_power(std::span<const Decibel> levels) {
  double sum = 0.0;
  for (const Decibel level : levels) sum += power_of(level);
  return sum;
}

}  // namespace

std::optional<Decibel> energy_sum(std::span<const Decibel> levels) {
  if (levels.empty()) return std::nullopt;
  return decibels_of_power(total_power(levels));
}

std::optional<Decibel> energy_mean(std::span<const Decibel> levels) {
  if (levels.empty()) return std::nullopt;
  return decibels_of_power(total_power(levels) / static_cast<double>(levels.size()));
}

Decibel background_correction(Decibel above_background) {
  return -decibels_of_power(1.0 - power_of(-above_background));
}

OwnLevel without_background(Decibel measured, Decibel background) {
  constexpr Decibel least_difference{3.0};
  const Decibel difference = measured - background;
  if (difference < least_difference) {
    return {OwnLevel::Kind::upper_bound, measured - background_correction(least_difference)};
  }
  return {OwnLevel::Kind::corrected, measured - background_correction(difference)};
}

}  // namespace howl
