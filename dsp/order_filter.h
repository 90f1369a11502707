#pragma once

#include <complex>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/units.h"

namespace howl {

/// A tone to be taken out of a signal: `order` cycles a turn of `angle`, whose time 0 is sample 0.
struct FollowedTone {
  std::shared_ptr<const SpeedCurve> angle;
  Order order;

  Hertz frequency_at(Seconds time) const { return frequency_of(order, angle->at(time)); }
};
/// A tone of fixed pitch. One of any known frequency is order 1 of a curve that turns as often.
FollowedTone fixed_pitch(Hertz frequency);

/// Width of the filter between its −3 dB edges: `share` of the tone's frequency, but never below
/// `least`. With `share` 0 it is `least` throughout.
struct FilterWidth {
  Hertz least{};
  double share{};

  Hertz at(Hertz frequency) const;
};

struct OrderFilterParameters {
  FilterWidth width{Hertz(2.0), 0.0};
  int poles{2};  ///< 1, 2 or 3: 40 dB a decade each; a filter of n poles rings n times as long
};

/// Weighting factor r of the structural equation for the width B between the −3 dB edges,
/// r = √[(√2 − 1) / (2 − 2cos(πB/rate))^poles]. `width_over_rate` = B/rate in (0, 1), `poles`
/// 1 … 3, else std::invalid_argument. (Tůma 2005, "Setting the passband width in the Vold-Kalman
/// order tracking filter", ICSV12.)
double vold_kalman_weight(double width_over_rate, int poles);

/// Gain for an envelope that turns at `offset_over_rate` cycles a sample: one tone, off the middle
/// of its filter by that much. 1 / [1 + r²(2 − 2cos 2πν)^poles]; never negative, no phase shift.
double vold_kalman_gain(double offset_over_rate, double width_over_rate, int poles);

/// What was found of one tone, from one sample to the next.
struct FilteredTone {
  /// A·exp(jφ): the tone is A·cos(2π·order·revolutions + φ). A is the peak amplitude.
  std::vector<std::complex<double>> envelope;
  std::vector<float> waveform;  ///< the tone itself
};

/// Successive pieces; all tones hold the same number of samples.
struct FilteredPiece {
  std::int64_t first_sample{};
  std::span<const FilteredTone> tones;

  std::size_t samples() const { return tones.front().waveform.size(); }
};

/// Vold-Kalman filter, second generation: takes several tones out of a signal, jointly, so that
/// tones that lie close together or cross are told apart by how their phases run (Vold and
/// Leuridan 1993, SAE 931288; Feldbauer and Höldrich 2000, DAFx; Tůma 2005, ICSV12).
///
/// Minimises Σ|y − Σ_k x_k·exp(jΘ_k)|² + Σ_k r_k²·Σ|∇^p x_k|² over the complex envelopes x_k;
/// y is real, so that the tone is 2·Re[x_k·exp(jΘ_k)]. Far less than half the rate is needed to
/// write x_k down, and at the full rate these equations are too badly conditioned for narrow
/// filters in double precision. So x_k is a cubic spline whose knots lie `samples_between_knots()`
/// apart, 16 or more in 1/B of the widest filter (64 for one pole), and the sums run over every
/// sample at the full rate all the same: nothing is demodulated or decimated, so that products of
/// tones need no anti-alias filter and the equations stay positive definite. ∇^p is then the p-th
/// derivative, and r is set so that the gain at both edges is −3 dB exactly. In the band the gain
/// is that of vold_kalman_gain() within 0.01 dB, beyond it within 0.001 of the tone's amplitude.
/// Filters so wide that fewer than two samples lie between knots are solved sample by sample, by
/// the published equations as they are.
///
/// The mirror image of a real tone, 2f away, comes in by vold_kalman_gain() of that offset: 0.0002
/// dB with two poles and a filter as wide as a tenth of the frequency. Within 1/B of the ends of
/// the signal, where the filter hears one side only, everything outside its band comes in more: of
/// that image up to 0.5 dB.
///
/// Linear in length; bounded memory, any chunking with the same result to the last bit. Against
/// one solution over the whole signal what is given out differs by less than 1e-8 of the largest
/// amplitude near it.
///
/// Not found this way: changes of amplitude or phase faster than B/2, which the filter smooths,
/// before they happen as well as after; a tone while it keeps the same phase as another for 1/B or
/// longer, where both are drawn on smoothly from either side.
///
/// Throws std::invalid_argument, in words: no tones; a tone whose band leaves 0 … rate/2, or is
/// wider than its frequency (the mirror image of a real tone would come in); two tones that are the
/// same, or turn against each other by less than `poles` turns in the whole signal; filters of so
/// different widths that double precision cannot hold them; from push() or finish(), equations
/// that double precision cannot solve.
class OrderFilter {
 public:
  /// `samples`: length of the signal. `take_piece` is called from push() and finish().
  OrderFilter(std::vector<FollowedTone> tones, double sample_rate, std::int64_t samples,
              const OrderFilterParameters& parameters,
              std::function<void(const FilteredPiece&)> take_piece);
  ~OrderFilter();
  OrderFilter(OrderFilter&&) noexcept;
  OrderFilter& operator=(OrderFilter&&) noexcept;

  /// No more than `samples` in all, else std::invalid_argument.
  void push(std::span<const float> samples);
  void finish();
  /// The envelope holds no more than its values this far apart, from sample 0 on, can tell.
  std::int64_t samples_between_knots() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// The same for a signal in memory: one result a tone, each as long as `samples`.
std::vector<FilteredTone> filter_orders(std::span<const float> samples, double sample_rate,
                                        std::vector<FollowedTone> tones,
                                        const OrderFilterParameters& parameters);

}  // namespace howl
