#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/speed_curve.h"
#include "dsp/time_spans.h"
#include "dsp/units.h"
#include "dsp/window.h"

namespace howl {

/// Resamples a stream from equal steps in time to equal steps in crankshaft angle (Fyfe and Munck
/// 1997, MSSP 11, 187–205), so that a tone locked to the crankshaft becomes a steady sine.
///
/// Interpolation by a Kaiser-windowed sinc whose cut-off follows the local speed: with S samples a
/// revolution, orders up to 0.75·S/2 pass within 0.01 dB and whatever lies above 1.25·S/2 is at
/// least 80 dB down before it can fold back. Where the angle's rate exceeds the audio's (S·n/60 >
/// sample rate) the cut-off is the audio's own half rate. Time 0 of the curve is sample 0. The
/// audio may come in chunks of any size; the output does not depend on the chunking. Samples before
/// the first and after the last are taken as 0.
class AngleResampler {
 public:
  AngleResampler(SpeedCurve speed, double sample_rate, double samples_per_revolution);
  ~AngleResampler();
  AngleResampler(AngleResampler&&) noexcept;
  AngleResampler& operator=(AngleResampler&&) noexcept;

  /// Appends to `out` every sample that the audio so far allows.
  void push(std::span<const float> samples, std::vector<float>& out);
  /// Appends the rest, up to the angle of the last sample pushed.
  void finish(std::vector<float>& out);
  /// Revolutions (as the curve counts them) of output sample 0.
  double first_revolution() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

struct OrderMapParameters {
  double highest_order{150.0};  ///< orders above are not resolved
  double revolutions{32.0};     ///< a block; order resolution is 1.5/revolutions (Hann)
  double hop_revolutions{8.0};
  WindowKind window{WindowKind::hann};
};

/// Samples a revolution that `highest_order` asks for, rounded up so that a block has a length that
/// transforms fast.
double samples_per_revolution(double highest_order);

/// One block of an order map. `power[k]` as in PowerSpectrum, line k at order k·spacing. Lines
/// above the audio's half rate hold only what leaks there.
struct OrderColumn {
  Seconds time;  ///< centre of the block in angle
  Rpm speed;     ///< mean over the block in time; in a ramp not the speed at `time`
  double revolutions_per_block{};
  std::span<const float> power;
};

/// Streams order-map columns to `take_column`; bounded memory, any chunking.
class OrderMap {
 public:
  OrderMap(SpeedCurve speed, double sample_rate, OrderMapParameters parameters,
           std::function<void(const OrderColumn&)> take_column);
  ~OrderMap();
  OrderMap(OrderMap&&) noexcept;
  OrderMap& operator=(OrderMap&&) noexcept;

  void push(std::span<const float> samples);
  void finish();
  double spacing() const;  ///< orders between lines

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Order spectrum of a stream: the columns of an order map averaged as energy.
class OrderSpectrum {
 public:
  /// Columns that reach into `left_out` are not averaged.
  OrderSpectrum(SpeedCurve speed, double sample_rate, OrderMapParameters parameters,
                TimeSpans left_out = {});
  ~OrderSpectrum();
  OrderSpectrum(OrderSpectrum&&) noexcept;
  OrderSpectrum& operator=(OrderSpectrum&&) noexcept;

  void push(std::span<const float> samples);
  /// Ends the stream. Empty `power` when the audio held no whole block that counts.
  PowerSpectrum finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

PowerSpectrum order_spectrum(std::span<const float> samples, double sample_rate,
                             const SpeedCurve& speed, const OrderMapParameters& parameters);

}  // namespace howl
