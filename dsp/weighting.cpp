#include "dsp/weighting.h"

#include <cmath>
#include <numbers>

namespace howl {
namespace {

/// Squares of the pole frequencies, from the design frequencies of IEC 61672-1 Annex E: f_r = 1
/// kHz, f_L = 10^1.5 Hz, f_H = 10^3.9 Hz (both −3 dB), f_A = 10^2.45 Hz. (How they give the poles
/// is from memory; the table of the standard confirms what comes of it.)
struct Poles {
  double first_squared;
  double second_squared;
  double third_squared;
  double fourth_squared;
};

double square(double x) { return x * x; }

Poles design_poles() {
  const double reference = 1e6;
  const double low = std::pow(10.0, 3.0);
  const double high = std::pow(10.0, 7.8);
  const double middle = std::pow(10.0, 4.9);
  const double d = std::numbers::sqrt2 / 2.0;
  const double b = (reference + low * high / reference - d * (low + high)) / (1.0 - d);
  const double root = std::sqrt(b * b - 4.0 * low * high);
  const double sqrt5 = std::sqrt(5.0);
  return {(-b - root) / 2.0, middle * square((3.0 - sqrt5) / 2.0),
          middle * square((3.0 + sqrt5) / 2.0), (-b + root) / 2.0};
}

double c_power(const Poles& poles, double f2) {
  return square(poles.fourth_squared * f2 /
                ((f2 + poles.first_squared) * (f2 + poles.fourth_squared)));
}

double a_power(const Poles& poles, double f2) {
  return c_power(poles, f2) * square(f2) /
         ((f2 + poles.second_squared) * (f2 + poles.third_squared));
}

}  // namespace

double weighting_factor(Weighting weighting, Hertz frequency) {
  static const Poles poles = design_poles();
  constexpr double reference = 1e6;
  const double f2 = square(frequency.value);
  switch (weighting) {
    case Weighting::a:
      return a_power(poles, f2) / a_power(poles, reference);
    case Weighting::c:
      return c_power(poles, f2) / c_power(poles, reference);
    case Weighting::z:
      break;
  }
  return 1.0;
}

Decibel weighting_level(Weighting weighting, Hertz frequency) {
  return decibels_of_power(weighting_factor(weighting, frequency));
}

PowerSpectrum weighted(PowerSpectrum spectrum, Weighting weighting) {
  for (std::size_t k = 0; k < spectrum.power.size(); ++k) {
    spectrum.power[k] *= weighting_factor(weighting, Hertz(spectrum.position(k)));
  }
  return spectrum;
}

Seconds time_constant(TimeWeighting weighting) {
  return Seconds(weighting == TimeWeighting::fast ? 0.125 : 1.0);
}

Decibel tone_burst_response(TimeWeighting weighting, Seconds burst) {
  return decibels_of_power(-std::expm1(-(burst / time_constant(weighting))));
}

}  // namespace howl
