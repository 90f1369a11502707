#pragma once

#include <cmath>
#include <compare>
#include <numbers>

namespace howl {

/// A number that knows what it measures, so that Hz, rpm and orders cannot be mixed up by accident.
/// Only sums, differences, scaling and ratios exist; there is no general unit algebra on purpose.
template <class Tag>
struct Quantity {
  double value{};

  constexpr Quantity() = default;
  constexpr explicit Quantity(double v) : value(v) {}

  friend constexpr auto operator<=>(Quantity, Quantity) = default;
  friend constexpr Quantity operator+(Quantity a, Quantity b) {
    return Quantity(a.value + b.value);
  }
  friend constexpr Quantity operator-(Quantity a, Quantity b) {
    return Quantity(a.value - b.value);
  }
  friend constexpr Quantity operator-(Quantity a) { return Quantity(-a.value); }
  friend constexpr Quantity operator*(Quantity a, double k) { return Quantity(a.value * k); }
  friend constexpr Quantity operator*(double k, Quantity a) { return Quantity(a.value * k); }
  friend constexpr Quantity operator/(Quantity a, double k) { return Quantity(a.value / k); }
  friend constexpr double operator/(Quantity a, Quantity b) { return a.value / b.value; }
};

using Hertz = Quantity<struct HertzTag>;
/// Crankshaft revolutions per minute.
using Rpm = Quantity<struct RpmTag>;
/// Cycles per crankshaft revolution.
using Order = Quantity<struct OrderTag>;
using Seconds = Quantity<struct SecondsTag>;
/// A level or a level difference. A level is meaningless without its reference: whoever holds one
/// says which reference it has.
using Decibel = Quantity<struct DecibelTag>;

inline namespace literals {
constexpr Hertz operator""_hz(long double v) { return Hertz(static_cast<double>(v)); }
constexpr Hertz operator""_hz(unsigned long long v) { return Hertz(static_cast<double>(v)); }
constexpr Rpm operator""_rpm(long double v) { return Rpm(static_cast<double>(v)); }
constexpr Rpm operator""_rpm(unsigned long long v) { return Rpm(static_cast<double>(v)); }
constexpr Order operator""_order(long double v) { return Order(static_cast<double>(v)); }
constexpr Order operator""_order(unsigned long long v) { return Order(static_cast<double>(v)); }
constexpr Seconds operator""_s(long double v) { return Seconds(static_cast<double>(v)); }
constexpr Seconds operator""_s(unsigned long long v) { return Seconds(static_cast<double>(v)); }
constexpr Decibel operator""_db(long double v) { return Decibel(static_cast<double>(v)); }
constexpr Decibel operator""_db(unsigned long long v) { return Decibel(static_cast<double>(v)); }
}  // namespace literals

constexpr Hertz frequency_of(Order order, Rpm speed) {
  return Hertz(order.value * speed.value / 60.0);
}
constexpr Order order_of(Hertz frequency, Rpm speed) {
  return Order(60.0 * frequency.value / speed.value);
}

/// 10 lg of a ratio of powers; `power_ratio` must be positive.
inline Decibel decibels_of_power(double power_ratio) {
  return Decibel(10.0 * std::log10(power_ratio));
}
inline double power_of(Decibel level) { return std::pow(10.0, level.value / 10.0); }

/// Level re a full-scale sine (AES17: a sine that just reaches ±1 reads 0 dB) of a signal whose
/// mean square is `mean_square`. The reference is written "dB re full-scale sine".
inline Decibel full_scale_level(double mean_square) { return decibels_of_power(2.0 * mean_square); }

}  // namespace howl
