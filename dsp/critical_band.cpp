#include "dsp/critical_band.h"

#include <cmath>

namespace howl {

Hertz critical_bandwidth(Hertz tone) {
  const double kilohertz = tone.value / 1000.0;
  return Hertz(25.0 + 75.0 * std::pow(1.0 + 1.4 * kilohertz * kilohertz, 0.69));
}

FrequencyBand critical_band(Hertz tone) {
  constexpr Hertz last_centred{500.0};
  if (tone > last_centred) return geometric_critical_band(tone);
  const Hertz half = critical_bandwidth(tone) / 2.0;
  return {tone - half, tone + half};
}

FrequencyBand geometric_critical_band(Hertz tone) {
  const Hertz width = critical_bandwidth(tone);
  const Hertz low{std::hypot(width.value / 2.0, tone.value) - width.value / 2.0};
  return {low, low + width};
}

Hertz proximity_spacing(Hertz tone) {
  const double decades = std::abs(std::log10(tone.value / 212.0));
  return Hertz(21.0 * std::pow(10.0, 1.2 * std::pow(decades, 1.8)));
}

bool heard_as_one(Hertz stronger, Hertz other) {
  constexpr Hertz always_from{1000.0};
  return stronger >= always_from ||
         std::abs((other - stronger).value) <= proximity_spacing(stronger).value;
}

}  // namespace howl
