#include "dsp/synth.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>

#include "dsp/require.h"

namespace howl {

namespace {

constexpr double kPi = std::numbers::pi;
/// Samples computed side by side; a fixed number, so that the compiler can use vector registers.
constexpr std::size_t kSideBySide = 64;
using Block = std::array<double, kSideBySide>;

/// Difference from the nearest whole number. Adding and removing 1.5·2^52 rounds to a whole number
/// in IEEE double arithmetic; |x| < 2^51.
double off_whole(double x) {
  constexpr double rounder = 6755399441055744.0;
  return x - ((x + rounder) - rounder);
}

/// sin(2πx) for |x| ≤ ¼: Taylor series to x^15, whose first neglected term is below 7e-12.
double sine_of_quarter_turn(double x) {
  const double y = 2.0 * kPi * x;
  const double y2 = y * y;
  double sum = -1.0 / 1307674368000.0;
  sum = sum * y2 + 1.0 / 6227020800.0;
  sum = sum * y2 - 1.0 / 39916800.0;
  sum = sum * y2 + 1.0 / 362880.0;
  sum = sum * y2 - 1.0 / 5040.0;
  sum = sum * y2 + 1.0 / 120.0;
  sum = sum * y2 - 1.0 / 6.0;
  return y + y * y2 * sum;
}

double cosine_of_turns(double turns) {
  return sine_of_quarter_turn(0.25 - std::abs(off_whole(turns)));
}
double sine_of_turns(double turns) { return cosine_of_turns(turns - 0.25); }

/// Imaginary part of Σ_k c_k z^k, k = 1 …, for a block of z on the unit circle, by Horner's scheme.
void harmonic_sum(const Block& cosine, const Block& sine,
                  std::span<const std::complex<double>> coefficients, Block& out) {
  Block real{};
  Block imaginary{};
  for (std::size_t k = coefficients.size(); k-- > 0;) {
    const double a = coefficients[k].real();
    const double b = coefficients[k].imag();
    for (std::size_t i = 0; i < kSideBySide; ++i) {
      const double x = real[i] + a;
      const double y = imaginary[i] + b;
      real[i] = x * cosine[i] - y * sine[i];
      imaginary[i] = x * sine[i] + y * cosine[i];
    }
  }
  out = imaginary;
}

std::vector<std::complex<double>> coefficients_of(std::span<const Harmonic> harmonics) {
  std::vector<std::complex<double>> coefficients;
  coefficients.reserve(harmonics.size());
  for (const Harmonic& h : harmonics) coefficients.push_back(std::polar(h.amplitude, h.phase));
  return coefficients;
}

/// Digital filter of second order, b0 + b1 z⁻¹ + b2 z⁻² over 1 + a1 z⁻¹ + a2 z⁻².
struct Biquad {
  double b0{1.0}, b1{}, b2{}, a1{}, a2{};
  double s1{}, s2{};

  double step(double x) {
    const double y = b0 * x + s1;
    s1 = b1 * x - a1 * y + s2;
    s2 = b2 * x - a2 * y;
    return y;
  }
  std::complex<double> response(double frequency, double sample_rate) const {
    const auto z = std::polar(1.0, -2.0 * kPi * frequency / sample_rate);
    return (b0 + z * (b1 + z * b2)) / (1.0 + z * (a1 + z * a2));
  }
};

/// The second-order pole pair at `centre` by the bilinear transform, pre-warped there:
/// denominators of both the low pass and the band pass. Returns cot(π·centre/rate).
double set_pole_pair(Biquad& filter, double sample_rate, Hertz centre, double damping, double& a0) {
  require(centre.value > 0.0 && centre.value < 0.5 * sample_rate, "resonance outside the band");
  require(damping > 0.0 && damping < 1.0, "damping must lie between 0 and 1");
  const double k = 1.0 / std::tan(kPi * centre.value / sample_rate);
  a0 = k * k + 2.0 * damping * k + 1.0;
  filter.a1 = (2.0 - 2.0 * k * k) / a0;
  filter.a2 = (k * k - 2.0 * damping * k + 1.0) / a0;
  return k;
}

Biquad low_pass(double sample_rate, Hertz centre, double damping) {
  Biquad filter;
  double a0 = 1.0;
  set_pole_pair(filter, sample_rate, centre, damping, a0);
  filter.b0 = 1.0 / a0;
  filter.b1 = 2.0 / a0;
  filter.b2 = 1.0 / a0;
  return filter;
}

Biquad band_pass(double sample_rate, Hertz centre, double damping) {
  Biquad filter;
  double a0 = 1.0;
  const double k = set_pole_pair(filter, sample_rate, centre, damping, a0);
  filter.b0 = 2.0 * damping * k / a0;
  filter.b2 = -filter.b0;
  return filter;
}

/// (1 + s/zero)/(1 + s/pole), bilinear, pre-warped at each corner; pole and zero in Hz.
Biquad shelf(double sample_rate, double pole, double zero) {
  const double p = 1.0 / std::tan(kPi * pole / sample_rate);
  const double z = 1.0 / std::tan(kPi * zero / sample_rate);
  return {.b0 = (1.0 + z) / (1.0 + p),
          .b1 = (1.0 - z) / (1.0 + p),
          .b2 = 0.0,
          .a1 = (1.0 - p) / (1.0 + p),
          .a2 = 0.0};
}

/// Pole at 10 Hz, zero at 20 Hz, pole at 40 Hz … as far as half the sample rate reaches.
std::vector<Biquad> pink_filter(double sample_rate) {
  std::vector<Biquad> sections;
  for (double pole = 10.0; 2.0 * pole < 0.5 * sample_rate; pole *= 4.0)
    sections.push_back(shelf(sample_rate, pole, 2.0 * pole));
  return sections;
}

double run(std::span<Biquad> sections, double x) {
  for (Biquad& section : sections) x = section.step(x);
  return x;
}

/// Power of the output for white noise of unit power, and how long the filter remembers: the sum of
/// squares of the impulse response until it has died away.
struct ImpulseFigures {
  double power{};
  std::size_t length{};
};
ImpulseFigures impulse_figures(std::vector<Biquad> sections, double slowest_hz,
                               double sample_rate) {
  ImpulseFigures figures;
  figures.length = static_cast<std::size_t>(3.0 * sample_rate / slowest_hz);
  for (std::size_t n = 0; n < figures.length; ++n) {
    const double h = run(sections, n == 0 ? 1.0 : 0.0);
    figures.power += h * h;
  }
  return figures;
}

/// White noise through `sections`, already settled at the first sample. The filter forgets as
/// exp(−2π·slowest_hz·t).
std::vector<float> filtered_noise(std::size_t samples, std::vector<Biquad> sections,
                                  double slowest_hz, double sample_rate, double rms,
                                  Random& random) {
  const ImpulseFigures figures = impulse_figures(sections, slowest_hz, sample_rate);
  const double gain = rms / std::sqrt(figures.power);
  for (std::size_t n = 0; n < figures.length; ++n) run(sections, gain * draw_normal(random));
  std::vector<float> out(samples);
  for (float& y : out) y = static_cast<float>(run(sections, gain * draw_normal(random)));
  return out;
}

}  // namespace

std::vector<double> crank_turns(const SpeedCurve& speed, std::size_t samples, double sample_rate) {
  require(sample_rate > 0.0, "the sample rate must be above 0");
  const double start = speed.revolutions_at(Seconds(0.0));
  std::vector<double> turns(samples);
  for (std::size_t n = 0; n < samples; ++n)
    turns[n] = speed.revolutions_at(Seconds(static_cast<double>(n) / sample_rate)) - start;
  return turns;
}

std::vector<double> phase_turns(std::span<const double> frequency_hz, double sample_rate) {
  require(sample_rate > 0.0, "the sample rate must be above 0");
  std::vector<double> turns(frequency_hz.size());
  double sum = 0.0;
  for (std::size_t n = 0; n < turns.size(); ++n) {
    turns[n] = sum / sample_rate;
    sum += frequency_hz[n];
  }
  return turns;
}

std::vector<double> synth_slip(const BeltSlip& slip, const SpeedCurve& speed, std::size_t samples,
                               double sample_rate, Random& random) {
  require(slip.bounds.low <= slip.bounds.high, "slip bounds are the wrong way round");
  const double seconds = static_cast<double>(samples) / sample_rate;
  const auto steps = static_cast<std::size_t>(seconds * kControlRate) + 2;
  std::vector<double> values = synth_wander(steps, kControlRate, slip.correlation, random);
  for (std::size_t i = 0; i < steps; ++i) {
    const double rpm = speed.at(Seconds(static_cast<double>(i) / kControlRate)).value;
    values[i] = slip.bounds.low + slip.bounds.width() * normal_cdf(values[i]) +
                slip.per_1000_rpm * (rpm - 1000.0) / 1000.0 + slip.added_by_load;
  }
  return stretch_control(values, kControlRate, samples, sample_rate);
}

std::vector<double> belt_turns(std::span<const double> crank, double ratio,
                               std::span<const double> slip) {
  require(crank.size() == slip.size(), "crank angle and slip differ in length");
  std::vector<double> turns(crank.size());
  double sum = crank.empty() ? 0.0 : ratio * crank[0];
  for (std::size_t n = 0; n < turns.size(); ++n) {
    turns[n] = sum;
    if (n + 1 < turns.size()) sum += ratio * (1.0 - slip[n]) * (crank[n + 1] - crank[n]);
  }
  return turns;
}

void synth_family(std::span<float> to, std::span<const double> turns, const ToneFamily& family,
                  std::span<const float> envelope) {
  require(to.size() == turns.size(), "signal and angle differ in length");
  require(envelope.empty() || envelope.size() == to.size(), "signal and envelope differ in length");
  const auto coefficients = coefficients_of(family.harmonics);
  const auto modulation = family.modulation.value_or(ToneFamily::Modulation{});
  Block angle{};
  Block cosine{};
  Block sine{};
  Block sum{};
  for (std::size_t start = 0; start < to.size(); start += kSideBySide) {
    const std::size_t count = std::min(kSideBySide, to.size() - start);
    std::copy_n(turns.begin() + static_cast<std::ptrdiff_t>(start), count, angle.begin());
    for (std::size_t i = 0; i < kSideBySide; ++i) {
      cosine[i] = cosine_of_turns(angle[i] * family.cycles_per_turn);
      sine[i] = sine_of_turns(angle[i] * family.cycles_per_turn);
    }
    harmonic_sum(cosine, sine, coefficients, sum);
    if (modulation.depth != 0.0)
      for (std::size_t i = 0; i < kSideBySide; ++i)
        sum[i] *= 1.0 + modulation.depth * sine_of_turns(angle[i] * modulation.cycles_per_turn);
    for (std::size_t i = 0; i < count; ++i) {
      const double gain = envelope.empty() ? 1.0 : static_cast<double>(envelope[start + i]);
      to[start + i] += static_cast<float>(gain * sum[i]);
    }
  }
}

ToneFamily combustion_family(const Combustion& engine, Random& random) {
  require(engine.cylinders >= 1 && engine.cylinders <= 16, "cylinders must be 1 to 16");
  require(engine.highest_order >= 0.5, "the highest order must be at least a half");
  const auto cylinders = static_cast<std::size_t>(engine.cylinders);
  std::vector<double> strength(cylinders);
  for (double& s : strength) s = 1.0 + engine.cylinder_spread * draw_normal(random);

  const double firing = 0.5 * engine.cylinders;
  ToneFamily family;
  family.cycles_per_turn = 0.5;
  family.harmonics.resize(static_cast<std::size_t>(2.0 * engine.highest_order));
  for (std::size_t k = 1; k <= family.harmonics.size(); ++k) {
    std::complex<double> sum;
    for (std::size_t i = 0; i < cylinders; ++i)
      sum += std::polar(strength[i], -2.0 * kPi * static_cast<double>(k * i % cylinders) /
                                         static_cast<double>(cylinders));
    const double order = 0.5 * static_cast<double>(k);
    const double octaves = std::max(0.0, std::log2(order / firing));
    const double fall = std::pow(10.0, -engine.fall_db_per_octave * octaves / 20.0) *
                        std::min(1.0, 2.0 * (1.0 - order / engine.highest_order));
    family.harmonics[k - 1] = {engine.amplitude * fall * std::abs(sum) / engine.cylinders,
                               2.0 * kPi * draw_uniform(random)};
  }
  return family;
}

std::vector<float> synth_tone(std::span<const double> frequency_hz, double sample_rate,
                              double amplitude, double phase) {
  std::vector<float> out(frequency_hz.size());
  synth_family(out, phase_turns(frequency_hz, sample_rate),
               {.cycles_per_turn = 1.0, .harmonics = {{amplitude, phase}}, .modulation = {}});
  return out;
}

std::vector<float> synth_order(const SpeedCurve& speed, Order order, std::size_t samples,
                               double sample_rate, double amplitude, double phase) {
  std::vector<float> out(samples);
  synth_family(
      out, crank_turns(speed, samples, sample_rate),
      {.cycles_per_turn = order.value, .harmonics = {{amplitude, phase}}, .modulation = {}});
  return out;
}

std::vector<float> synth_pulses(std::span<const double> turns, double per_turn, double amplitude,
                                double width) {
  require(per_turn > 0.0, "pulses a turn must be above 0");
  require(width > 0.0 && width <= 0.5, "pulse width must be at most half the spacing");
  std::vector<float> out(turns.size());
  for (std::size_t n = 0; n < out.size(); ++n) {
    const double off = std::abs(off_whole(turns[n] * per_turn));
    if (off < width)
      out[n] = static_cast<float>(amplitude * 0.5 * (1.0 + cosine_of_turns(0.5 * off / width)));
  }
  return out;
}

std::vector<float> synth_blows(std::span<const double> turns, double first, double per_turn,
                               double spread, Random& random) {
  require(per_turn > 0.0, "blows a turn must be above 0");
  require(spread >= 0.0 && spread < 0.2, "blows may stray by less than a fifth of their distance");
  std::vector<float> out(turns.size());
  double next = first;
  for (std::size_t n = 0; n < out.size(); ++n) {
    if (turns[n] < next) continue;
    out[n] = 1.0F;
    next += std::max(0.0, 1.0 + spread * draw_normal(random)) / per_turn;
  }
  return out;
}

std::vector<float> synth_noise(std::size_t samples, double rms, Random& random) {
  std::vector<float> out(samples);
  for (float& y : out) y = static_cast<float>(rms * draw_normal(random));
  return out;
}

std::vector<float> synth_pink(std::size_t samples, double sample_rate, double rms, Random& random) {
  require(sample_rate > 100.0, "pink noise needs a sample rate above 100 Hz");
  return filtered_noise(samples, pink_filter(sample_rate), 10.0, sample_rate, rms, random);
}

double pink_density(Hertz frequency, double sample_rate, double rms) {
  require(sample_rate > 100.0, "pink noise needs a sample rate above 100 Hz");
  const std::vector<Biquad> sections = pink_filter(sample_rate);
  double gain = 1.0;
  for (const Biquad& section : sections)
    gain *= std::norm(section.response(frequency.value, sample_rate));
  return rms * rms * gain / impulse_figures(sections, 10.0, sample_rate).power /
         (0.5 * sample_rate);
}

std::vector<float> synth_band_noise(std::size_t samples, double sample_rate, Hertz centre,
                                    double damping, double rms, Random& random) {
  return filtered_noise(samples, {band_pass(sample_rate, centre, damping)}, damping * centre.value,
                        sample_rate, rms, random);
}

std::vector<double> synth_wander(std::size_t samples, double sample_rate, Seconds correlation,
                                 Random& random) {
  require(sample_rate > 0.0 && correlation.value > 0.0, "correlation time must be above 0");
  const double keep = std::exp(-1.0 / (sample_rate * correlation.value));
  const double fresh = std::sqrt(1.0 - keep * keep);
  std::vector<double> out(samples);
  double x = draw_normal(random);
  for (double& y : out) {
    y = x;
    x = keep * x + fresh * draw_normal(random);
  }
  return out;
}

std::vector<double> stretch_control(std::span<const double> values, double control_rate,
                                    std::size_t samples, double sample_rate) {
  require(!values.empty(), "no control values to draw out");
  const auto last = static_cast<double>(values.size() - 1);
  std::vector<double> out(samples);
  for (std::size_t n = 0; n < samples; ++n) {
    const double place = std::min(last, static_cast<double>(n) * control_rate / sample_rate);
    const auto below = static_cast<std::size_t>(place);
    const std::size_t above = std::min(below + 1, values.size() - 1);
    out[n] = std::lerp(values[below], values[above], place - static_cast<double>(below));
  }
  return out;
}

SpeedCurve synth_jittered_speed(const SpeedCurve& base, Seconds length, double relative_sd,
                                Random& random) {
  constexpr double node_rate = 20.0;
  const auto nodes = static_cast<std::size_t>(length.value * node_rate) + 2;
  const std::vector<double> wander = synth_wander(nodes, node_rate, Seconds(0.3), random);
  std::vector<SpeedPoint> points(nodes);
  for (std::size_t i = 0; i < nodes; ++i) {
    const Seconds time(static_cast<double>(i) / node_rate);
    points[i] = {time, base.at(time) * (1.0 + relative_sd * wander[i])};
  }
  return SpeedCurve::through(points, 0.0);
}

void synth_resonance(std::span<float> signal, double sample_rate, Hertz resonance, double damping) {
  Biquad filter = low_pass(sample_rate, resonance, damping);
  for (float& x : signal) x = static_cast<float>(filter.step(static_cast<double>(x)));
}

void synth_dropout(std::span<float> signal, double sample_rate, Seconds start, Seconds length,
                   double floor_gain) {
  constexpr double fade = 0.005;
  for (std::size_t n = 0; n < signal.size(); ++n) {
    const double t = static_cast<double>(n) / sample_rate - start.value;
    const double inside = std::min(t, length.value - t);
    if (inside <= 0.0) continue;
    signal[n] *= static_cast<float>(std::lerp(1.0, floor_gain, std::min(1.0, inside / fade)));
  }
}

void synth_clip(std::span<float> signal, float limit) {
  for (float& x : signal) x = std::clamp(x, -limit, limit);
}

void synth_add(std::span<float> to, std::span<const float> what, double gain) {
  require(to.size() == what.size(), "signals differ in length");
  for (std::size_t n = 0; n < to.size(); ++n)
    to[n] += static_cast<float>(gain * static_cast<double>(what[n]));
}

}  // namespace howl
