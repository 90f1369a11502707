#include "dsp/order_filter.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <memory>
#include <numbers>
#include <stdexcept>
#include <string>
#include <vector>

#include "dsp/statistics.h"
#include "dsp/synth.h"

using namespace howl;

namespace {

using Complex = std::complex<double>;
constexpr double pi = std::numbers::pi;
constexpr double rate = 12000.0;

std::shared_ptr<const SpeedCurve> ramp(std::vector<SpeedPoint> points) {
  return std::make_shared<const SpeedCurve>(SpeedCurve::through(points, 0.0));
}

std::size_t samples_in(double seconds, double sample_rate = rate) {
  return static_cast<std::size_t>(std::llround(seconds * sample_rate));
}

std::vector<float> sine(double hertz, double amplitude, double phase, double seconds,
                        double sample_rate = rate) {
  const std::vector<double> frequency(samples_in(seconds, sample_rate), hertz);
  return synth_tone(frequency, sample_rate, amplitude, phase);
}

std::vector<float> sum(const std::vector<float>& a, const std::vector<float>& b) {
  std::vector<float> both = a;
  synth_add(both, b);
  return both;
}

OrderFilterParameters hertz_wide(double width, int poles) {
  return {FilterWidth{Hertz(width), 0.0}, poles};
}

double decibels(double ratio) { return 20.0 * std::log10(ratio); }

double rms(std::span<const float> samples, std::size_t from, std::size_t to) {
  double squares = 0.0;
  for (std::size_t i = from; i < to; ++i)
    squares += static_cast<double>(samples[i]) * static_cast<double>(samples[i]);
  return std::sqrt(squares / static_cast<double>(to - from));
}

std::string refusal(const std::vector<FollowedTone>& tones, const OrderFilterParameters& parameters,
                    double seconds = 5.0) {
  try {
    const OrderFilter filter(tones, rate, static_cast<std::int64_t>(seconds * rate), parameters,
                             [](const FilteredPiece&) {});
  } catch (const std::invalid_argument& error) {
    return error.what();
  }
  return "";
}

/// One order of an engine that sounds through a resonance. The truth is its complex envelope: the
/// resonance is linear, so that cosine and sine through it make up its answer to exp(jΘ).
struct ThroughResonance {
  std::vector<float> waveform;
  std::vector<Complex> envelope;
};

ThroughResonance through_resonance(const SpeedCurve& speed, Order order, std::size_t samples,
                                   double amplitude, Hertz resonance, double damping) {
  auto cosine = synth_order(speed, order, samples, rate, amplitude, pi / 2.0);
  auto odd = synth_order(speed, order, samples, rate, amplitude, 0.0);
  synth_resonance(cosine, rate, resonance, damping);
  synth_resonance(odd, rate, resonance, damping);
  std::vector<Complex> envelope(samples);
  for (std::size_t i = 0; i < samples; ++i) {
    const double turns = order.value * speed.revolutions_at(Seconds(static_cast<double>(i) / rate));
    envelope[i] = Complex(static_cast<double>(cosine[i]), static_cast<double>(odd[i])) *
                  std::polar(1.0, -2.0 * pi * (turns - std::floor(turns)));
  }
  return {std::move(cosine), std::move(envelope)};
}

}  // namespace

TEST_CASE("weighting factor from the −3 dB width: exact for 1, 2 and 3 poles") {
  // r = √[(√2−1)/(2−2cos(πB/fs))^p] (Tůma 2005, ICSV12), to six digits, the last of which is
  // arithmetic (as √(√2−1)/(2·sin(πB/2fs))^p, which loses no digits).
  struct Row {
    double width;
    double weight[3];
  };
  for (const Row& row :
       {Row{0.1, {2.05707, 6.57487, 21.0148}}, Row{0.05, {4.10146, 26.1376, 166.568}},
        Row{0.01, {20.4871, 652.151, 20759.5}}, Row{0.005, {40.9729, 2608.44, 1.66060e5}},
        Row{0.001, {204.862, 65209.8, 2.07569e7}}, Row{0.0001, {2048.62, 6.52097e6, 2.07569e10}}})
    for (int poles = 1; poles <= 3; ++poles) {
      CAPTURE(row.width);
      CAPTURE(poles);
      const double printed = row.weight[poles - 1];
      const double last_digit = std::pow(10.0, std::floor(std::log10(printed)) - 5.0);
      CHECK(std::abs(vold_kalman_weight(row.width, poles) - printed) <= 0.5001 * last_digit);
    }
}

TEST_CASE("narrow filters: B/fs is 0.20486/r, 0.25536/√r and 0.27482/∛r") {
  // Limits of the same formula: (√2−1)^(1/2p)/π.
  constexpr double printed[3]{0.20486, 0.25536, 0.27482};
  for (int poles = 1; poles <= 3; ++poles)
    CHECK(1e-4 * std::pow(vold_kalman_weight(1e-4, poles), 1.0 / poles) ==
          doctest::Approx(printed[poles - 1]).epsilon(2e-5));
}

TEST_CASE("the width at −60 dB is 49.2, 7.01 and 3.66 times that at −3 dB") {
  // Worked out from the gain 1/[1 + r²(2−2cos ω)^p]; about 50, 7 and 3.6 are published (from
  // memory).
  constexpr double expected[3]{49.2, 7.01, 3.66};
  for (int poles = 1; poles <= 3; ++poles) {
    const double width = 0.001;
    double inside = 0.0;
    double outside = 0.1;
    for (int i = 0; i < 60; ++i) {
      const double middle = 0.5 * (inside + outside);
      (vold_kalman_gain(middle, width, poles) > 1e-3 ? inside : outside) = middle;
    }
    CHECK(2.0 * inside / width == doctest::Approx(expected[poles - 1]).epsilon(0.001));
  }
}

TEST_CASE("beyond its edges a filter falls by 40 dB a decade and pole (Vold and Leuridan 1993)") {
  for (int poles = 1; poles <= 3; ++poles) {
    const double near = vold_kalman_gain(1e-3, 2e-5, poles);
    const double far = vold_kalman_gain(1e-2, 2e-5, poles);
    CHECK(decibels(far / near) == doctest::Approx(-40.0 * poles).epsilon(0.001));
  }
}

TEST_CASE("a tone in the middle comes back within 0.01 dB and 0.1°, at the edge at −3 dB") {
  struct Setting {
    double width;
    double seconds;
  };
  for (int poles = 1; poles <= 3; ++poles)
    for (const Setting& setting : {Setting{0.5, 20.0}, Setting{2.0, 8.0}, Setting{30.0, 1.5}}) {
      const double hertz = 1000.0;
      for (const double offset : {0.0, 0.5 * setting.width, -0.5 * setting.width}) {
        const auto signal = sine(hertz + offset, 0.5, 0.3, setting.seconds);
        const auto found = filter_orders(signal, rate, {fixed_pitch(Hertz(hertz))},
                                         hertz_wide(setting.width, poles));
        const std::size_t middle = signal.size() / 2;
        const Complex envelope = found[0].envelope[middle];
        // 0.5·sin(x + 0.3) = 0.5·cos(x + 0.3 − π/2).
        const double phase =
            0.3 - 0.5 * pi + 2.0 * pi * offset * static_cast<double>(middle) / rate;
        const double expected = offset == 0.0 ? 0.0 : -10.0 * std::log10(2.0);
        CHECK(std::abs(decibels(std::abs(envelope) / 0.5) - expected) < 0.01);
        CHECK(std::abs(std::remainder(std::arg(envelope) - phase, 2.0 * pi)) < 0.1 * pi / 180.0);
      }
    }
}

TEST_CASE("filters solved sample by sample have their edges at −3 dB too") {
  // 500 Hz is more than 12000/32: no spline. What remains is the mirror image at −3250 Hz, which is
  // 6250 Hz, or 5750 Hz, from the middle.
  for (int poles = 1; poles <= 3; ++poles) {
    OrderFilter filter({fixed_pitch(3000_hz)}, rate, 1000, hertz_wide(500.0, poles),
                       [](const FilteredPiece&) {});
    REQUIRE(filter.samples_between_knots() == 1);
    const auto signal = sine(3250.0, 0.5, 0.0, 1.0);
    const auto found =
        filter_orders(signal, rate, {fixed_pitch(3000_hz)}, hertz_wide(500.0, poles));
    const double level = decibels(std::abs(found[0].envelope[signal.size() / 2]) / 0.5);
    const double mirror =
        decibels(1.0 - std::numbers::sqrt2 * vold_kalman_gain(5750.0 / rate, 500.0 / rate, poles));
    CHECK(std::abs(level + 10.0 * std::log10(2.0)) < 0.001 - mirror);
  }
}

TEST_CASE("away from the middle the gain is the published one within 0.01 dB, then 0.001") {
  constexpr double width = 20.0;
  for (int poles = 1; poles <= 3; ++poles) {
    double worst_in_band = 0.0;
    double worst_beyond = 0.0;
    for (const double offset : {2.0, 5.0, 9.0, 13.0, 15.0, 20.0, 36.6, 70.1, 180.0, 333.0, 900.0}) {
      const auto signal = sine(2000.0 + offset, 1.0, 0.0, 1.6);
      const auto found =
          filter_orders(signal, rate, {fixed_pitch(2000_hz)}, hertz_wide(width, poles));
      const std::size_t middle = signal.size() / 2;
      double gain = 0.0;
      for (std::size_t i = middle - 100; i < middle + 100; ++i)
        gain = std::max(gain, std::abs(found[0].envelope[i]));
      const double published = vold_kalman_gain(offset / rate, width / rate, poles);
      if (2.0 * offset <= width)
        worst_in_band = std::max(worst_in_band, std::abs(decibels(gain / published)));
      else
        worst_beyond = std::max(worst_beyond, std::abs(gain - published));
    }
    CHECK(worst_in_band < 0.01);
    CHECK(worst_beyond < 0.001);
  }
}

TEST_CASE("a width in per cent follows the frequency") {
  // 4 % of 400 Hz and of 1200 Hz: edges 8 and 24 Hz off.
  const auto speed = ramp({{0_s, 2400_rpm}, {4_s, 2400_rpm}, {4.5_s, 7200_rpm}, {8_s, 7200_rpm}});
  const auto signal = sum(sine(408.0, 0.2, 0.0, 8.0), sine(1224.0, 0.2, 0.0, 8.0));
  const auto found =
      filter_orders(signal, rate, {{speed, Order(10.0)}}, {FilterWidth{Hertz(0.0), 0.04}, 2});
  for (const double time : {2.0, 6.5})
    CHECK(decibels(std::abs(found[0].envelope[samples_in(time)]) / 0.2) ==
          doctest::Approx(-3.01).epsilon(0.01));
}

TEST_CASE("orders 9.5 and 10 through a 480 Hz resonance, 600 to 4200 rpm in 20 s") {
  // A second before and half a second after, for the resonance to settle and the filter to end.
  // 2 % damping: half width 9.6 Hz. The crossing is taken as 5 half widths to either side, ±48 Hz,
  // and passes in about 3 s.
  const auto speed = ramp({{0_s, 600_rpm}, {1_s, 600_rpm}, {21_s, 4200_rpm}});
  const std::size_t length = samples_in(21.5);
  constexpr double damping = 0.02;
  std::vector<ThroughResonance> truth;
  const std::vector<FollowedTone> tones{{speed, Order(9.5)}, {speed, Order(10.0)}};
  std::vector<float> signal(length);
  for (const FollowedTone& tone : tones) {
    truth.push_back(through_resonance(*speed, tone.order, length, 0.02, 480_hz, damping));
    synth_add(signal, truth.back().waveform);
  }
  struct Setting {
    FilterWidth width;
    double inside_db;  // a regression figure: what this width blurs at the crossing
  };
  for (const Setting& setting :
       {Setting{{Hertz(4.0), 0.0}, 0.25}, Setting{{Hertz(2.0), 0.02}, 0.02},
        Setting{{Hertz(0.0), 0.05}, 0.005}}) {
    const auto found = filter_orders(signal, rate, tones, {setting.width, 2});
    double outside = 0.0;
    double inside = 0.0;
    for (std::size_t k = 0; k < tones.size(); ++k)
      for (std::size_t i = samples_in(1.0); i < samples_in(21.0); i += 10) {
        const double hertz = tones[k].frequency_at(Seconds(static_cast<double>(i) / rate)).value;
        const double error =
            std::abs(decibels(std::abs(found[k].envelope[i]) / std::abs(truth[k].envelope[i])));
        double& worst = std::abs(hertz - 480.0) < 5.0 * damping * 480.0 ? inside : outside;
        worst = std::max(worst, error);
      }
    MESSAGE("width ", setting.width.least.value, " Hz or ", 100.0 * setting.width.share,
            " %: largest error ", outside, " dB outside, ", inside, " dB inside the crossing");
    CHECK(outside < 0.5);
    CHECK(inside < setting.inside_db);
  }
}

TEST_CASE("an order and a fixed tone that cross are told apart, and leave the noise") {
  // Order 6 rises from 120 to 360 Hz in 12 s and passes 240 Hz at 6 s; 20 Hz/s.
  const auto speed = ramp({{0_s, 1200_rpm}, {12_s, 3600_rpm}});
  const std::size_t length = samples_in(12.0);
  Random random(3);
  constexpr double noise_rms = 0.003;
  const auto noise = synth_noise(length, noise_rms, random);
  const auto order = synth_order(*speed, Order(6.0), length, rate, 0.1, 1.0);
  const auto tone = sine(240.0, 0.05, 2.0, 12.0);
  auto signal = sum(order, sum(tone, noise));
  const auto found =
      filter_orders(signal, rate, {{speed, Order(6.0)}, fixed_pitch(240_hz)}, hertz_wide(4.0, 2));

  double worst_order = 0.0;
  double worst_tone = 0.0;
  for (std::size_t i = samples_in(0.5); i < samples_in(11.5); i += 10) {
    worst_order = std::max(worst_order, std::abs(decibels(std::abs(found[0].envelope[i]) / 0.1)));
    worst_tone = std::max(worst_tone, std::abs(decibels(std::abs(found[1].envelope[i]) / 0.05)));
  }
  MESSAGE("largest error, crossing included: order ", worst_order, " dB, tone ", worst_tone, " dB");
  // Noise in 4 Hz of 6000 Hz, in both parts of the envelope: 0.003·√(2·4/6000) = 1e-4 rms, so that
  // four standard deviations are 0.035 dB of 0.1 and 0.07 dB of 0.05.
  CHECK(worst_order < 0.05);
  CHECK(worst_tone < 0.1);

  synth_add(signal, found[0].waveform, -1.0);
  synth_add(signal, found[1].waveform, -1.0);
  const std::size_t from = samples_in(0.5);
  const std::size_t to = samples_in(11.5);
  CHECK(std::abs(decibels(rms(signal, from, to) / rms(noise, from, to))) < 0.02);
}

TEST_CASE("tones without noise leave less than −100 dB when taken out, −50 dB near the ends") {
  const auto speed = ramp({{0_s, 1500_rpm}, {10_s, 3000_rpm}});
  const std::size_t length = samples_in(10.0);
  auto signal = sum(synth_order(*speed, Order(4.0), length, rate, 0.3, 0.5),
                    synth_order(*speed, Order(4.25), length, rate, 0.2, 1.5));
  const double before = rms(signal, 0, length);
  const auto found =
      filter_orders(signal, rate, {{speed, Order(4.0)}, {speed, Order(4.25)}}, hertz_wide(2.0, 2));
  for (const FilteredTone& tone : found) synth_add(signal, tone.waveform, -1.0);
  CHECK(decibels(rms(signal, samples_in(2.0), samples_in(8.0)) / before) < -100.0);
  CHECK(decibels(rms(signal, 0, length) / before) < -50.0);
}

TEST_CASE("one of two neighbours alone is polluted by the other, together they are not") {
  // 100 and 103 Hz, filters 4 Hz wide: followed alone, the other lies just outside the edge.
  const auto signal = sum(sine(100.0, 0.1, 0.0, 8.0), sine(103.0, 0.1, 0.0, 8.0));
  const auto alone = filter_orders(signal, rate, {fixed_pitch(100_hz)}, hertz_wide(4.0, 2));
  const auto both =
      filter_orders(signal, rate, {fixed_pitch(100_hz), fixed_pitch(103_hz)}, hertz_wide(4.0, 2));
  double worst_alone = 0.0;
  double worst_both = 0.0;
  for (std::size_t i = samples_in(2.0); i < samples_in(6.0); i += 20) {
    worst_alone = std::max(worst_alone, std::abs(std::abs(alone[0].envelope[i]) - 0.1));
    worst_both = std::max(worst_both, std::abs(std::abs(both[0].envelope[i]) - 0.1));
  }
  CHECK(worst_alone > 0.02);
  CHECK(worst_both < 1e-5);
}

TEST_CASE("a tone whose wavering frequency is known is followed like an order") {
  std::vector<SpeedPoint> points;
  for (int i = 0; i <= 60; ++i)
    points.push_back({Seconds(0.1 * i), Rpm(60.0 * (500.0 + 40.0 * std::sin(0.2 * i)))});
  const auto track = ramp(points);
  const auto signal = synth_order(*track, Order(1.0), samples_in(6.0), rate, 0.1);
  const auto found = filter_orders(signal, rate, {{track, Order(1.0)}}, hertz_wide(5.0, 2));
  for (std::size_t i = samples_in(0.5); i < samples_in(5.5); i += 100)
    CHECK(std::abs(found[0].envelope[i]) == doctest::Approx(0.1).epsilon(1e-4));
}

TEST_CASE("chunking does not change a bit, in long takes either") {
  const auto speed = ramp({{0_s, 900_rpm}, {30_s, 3000_rpm}});
  Random random(4);
  const std::size_t length = samples_in(30.0);
  const auto signal =
      sum(synth_order(*speed, Order(3.0), length, rate, 0.1), synth_noise(length, 0.05, random));
  const std::vector<FollowedTone> tones{{speed, Order(3.0)}, {speed, Order(3.5)}};
  const OrderFilterParameters parameters{FilterWidth{Hertz(3.0), 0.02}, 2};
  const auto whole = filter_orders(signal, rate, tones, parameters);

  for (const std::size_t chunk : {997U, 65536U}) {
    std::vector<float> pieces;
    std::int64_t before_end = 0;
    OrderFilter filter(tones, rate, static_cast<std::int64_t>(length), parameters,
                       [&](const FilteredPiece& piece) {
                         REQUIRE(piece.first_sample == static_cast<std::int64_t>(pieces.size()));
                         REQUIRE(piece.samples() == piece.tones[1].envelope.size());
                         const auto& waveform = piece.tones[1].waveform;
                         pieces.insert(pieces.end(), waveform.begin(), waveform.end());
                       });
    for (std::size_t i = 0; i < length; i += chunk)
      filter.push(std::span(signal).subspan(i, std::min(chunk, length - i)));
    before_end = static_cast<std::int64_t>(pieces.size());
    filter.finish();
    CHECK(before_end > static_cast<std::int64_t>(samples_in(15.0)));
    CHECK(pieces == whole[1].waveform);
  }
}

TEST_CASE("a filter cut off in the middle of its signal gives what it had") {
  const auto signal = sine(300.0, 0.1, 0.0, 1.0);
  std::size_t given = 0;
  OrderFilter filter({fixed_pitch(300_hz)}, rate, 100'000, hertz_wide(10.0, 2),
                     [&](const FilteredPiece& piece) { given += piece.samples(); });
  filter.push(signal);
  filter.finish();
  CHECK(given == signal.size());
}

TEST_CASE("a narrow filter beside a hundred times wider one is still exact") {
  const auto signal = sum(sine(1000.0, 0.1, 0.0, 20.0), sine(40.0, 0.1, 0.0, 20.0));
  const auto found = filter_orders(signal, rate, {fixed_pitch(1000_hz), fixed_pitch(40_hz)},
                                   {FilterWidth{Hertz(0.5), 0.05}, 2});
  // The narrow one is 2 Hz wide, the wide one 50 Hz.
  CHECK(decibels(std::abs(found[1].envelope[samples_in(10.0)]) / 0.1) ==
        doctest::Approx(0.0).epsilon(0.001));
}

TEST_CASE("a very narrow filter keeps its knots near enough to hold few samples") {
  // 0.002 Hz: 16 knots in 1/B would lie 375000 samples apart.
  const OrderFilter filter({fixed_pitch(100_hz)}, rate, 20'000'000, hertz_wide(0.002, 2),
                           [](const FilteredPiece&) {});
  CHECK(filter.samples_between_knots() == 65'536);
}

TEST_CASE("what cannot be solved is refused in words") {
  const auto speed = ramp({{0_s, 600_rpm}, {5_s, 6000_rpm}});
  const std::vector<FollowedTone> order{{speed, Order(10.0)}};
  CHECK(refusal(order, hertz_wide(2.0, 2)).empty());
  CHECK(refusal({}, hertz_wide(2.0, 2)) == "order filter: there is nothing to follow");
  CHECK(refusal({{speed, Order(0.0)}}, hertz_wide(2.0, 2)) ==
        "order filter: an order must be above 0");
  CHECK(refusal(order, hertz_wide(0.0, 2)) == "order filter: the width must be above 0");
  CHECK(refusal(order, hertz_wide(2.0, 4)) == "order filter: the number of poles is 1, 2 or 3");
  CHECK(refusal({{speed, Order(60.0)}}, hertz_wide(2.0, 2)) ==
        "order filter: a tone rises above half the sample rate");
  CHECK(refusal({{speed, Order(0.5)}}, hertz_wide(20.0, 2)) ==
        "order filter: the filter is wider than the frequency of its tone");
  // 5 s at 0.001 orders apart are 0.3 turns.
  CHECK(refusal({{speed, Order(10.0)}, {speed, Order(10.001)}}, hertz_wide(2.0, 2)) ==
        "order filter: two tones are so close that the signal is too short to tell them apart");
  CHECK(refusal({fixed_pitch(10_hz), fixed_pitch(4000_hz)}, {FilterWidth{Hertz(0.1), 0.1}, 3}) ==
        "order filter: the narrowest filter is too narrow for double precision beside the widest");

  OrderFilter filter(order, rate, 100, hertz_wide(20.0, 2), [](const FilteredPiece&) {});
  CHECK_THROWS_AS(filter.push(std::vector<float>(101)), std::invalid_argument);
  CHECK_THROWS_AS(vold_kalman_weight(0.0, 2), std::invalid_argument);
  CHECK_THROWS_AS(vold_kalman_weight(0.1, 0), std::invalid_argument);
}
