#include "dsp/order_map.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "dsp/peaks.h"
#include "dsp/spectrogram.h"
#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 48000.0;
constexpr double kSeconds = 20.0;

SpeedCurve ramp() {
  const std::vector<SpeedPoint> points{{0_s, 600_rpm}, {Seconds(kSeconds), 4200_rpm}};
  return SpeedCurve::through(points, 0.0005);
}

/// Sum of sines locked to the crank of `ramp()`: 10 + 3·t² … by hand, revolutions(t) = 10·t
/// + 1.5·t².
std::vector<float> locked_tones(const std::vector<double>& orders, double amplitude) {
  std::vector<float> samples(static_cast<std::size_t>(kRate * kSeconds));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double t = static_cast<double>(i) / kRate;
    const double revolutions = 10.0 * t + 1.5 * t * t;
    double sum = 0.0;
    for (const double order : orders) sum += std::sin(2.0 * std::numbers::pi * order * revolutions);
    samples[i] = static_cast<float>(amplitude * sum);
  }
  return samples;
}

std::vector<Peak> order_peaks(const PowerSpectrum& spectrum) {
  PeakParameters parameters;
  parameters.lowest = 1.0;
  parameters.highest = 60.0;
  parameters.min_height = 20_db;
  parameters.floor_width = 4.0;
  return find_peaks(spectrum, parameters);
}

}  // namespace

TEST_CASE("order map of a 600 to 4200 rpm ramp in 20 s: order within 0.1 %, level within 0.3 dB") {
  // Truth by construction: θ = 2π·o·(10·t + 1.5·t²), amplitude 0.05, so mean square 0.00125.
  double worst_order = 0.0;
  double worst_level = 0.0;
  for (const double order : {2.0, 3.5, 5.0, 8.25, 10.0, 17.0, 24.0, 36.3, 48.0}) {
    const PowerSpectrum spectrum = order_spectrum(locked_tones({order}, 0.05), kRate, ramp(), {});
    double best = 0.0;
    Peak top;
    for (const Peak& peak : order_peaks(spectrum))
      if (peak.power > best) {
        best = peak.power;
        top = peak;
      }
    REQUIRE(best > 0.0);
    worst_order = std::max(worst_order, std::abs(top.position / order - 1.0));
    worst_level = std::max(worst_level, std::abs(10.0 * std::log10(top.power / 0.00125)));
  }
  MESSAGE("largest error: order ", 100.0 * worst_order, " %, level ", worst_level, " dB");
  CHECK(worst_order < 0.001);
  CHECK(worst_level < 0.3);
}

TEST_CASE("tones locked at order 10.0 and 10.1 in the same sweep are told apart") {
  OrderMapParameters parameters;
  parameters.revolutions = 64.0;
  parameters.hop_revolutions = 16.0;
  const auto peaks =
      order_peaks(order_spectrum(locked_tones({10.0, 10.1}, 0.05), kRate, ramp(), parameters));
  REQUIRE(peaks.size() == 2);
  CHECK(peaks[0].position == doctest::Approx(10.0).epsilon(0.001));
  CHECK(peaks[1].position == doctest::Approx(10.1).epsilon(0.001));
}

TEST_CASE("orders are wrong as much as the speed is: 1 % low, and order 12 reads 12.12") {
  // Worked by hand: o = 60·f/n, so 12 · 1.01 (the speed 1/1.01 of the true one). Order 36 is off by
  // 0.36 already, three times as much.
  const double true_rpm = 1818.0;
  std::vector<float> samples(static_cast<std::size_t>(kRate * 6.0));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double turns = true_rpm / 60.0 * static_cast<double>(i) / kRate;
    samples[i] = static_cast<float>(0.1 * std::sin(2.0 * std::numbers::pi * 12.0 * turns) +
                                    0.1 * std::sin(2.0 * std::numbers::pi * 36.0 * turns));
  }
  const auto peaks =
      order_peaks(order_spectrum(samples, kRate, SpeedCurve::constant(1800_rpm, 0.01), {}));
  REQUIRE(peaks.size() == 2);
  CHECK(peaks[0].position == doctest::Approx(12.12).epsilon(1e-4));
  CHECK(peaks[1].position == doctest::Approx(36.36).epsilon(1e-4));
}

TEST_CASE("a sweep of 60·Δf²/o rpm/s moves an order by a line a block; its order map stands") {
  // In a block of T = 1/Δf order o crosses o·S·T²/60 lines at S rpm/s; S for one line is worked by
  // hand. (Smearing as the main error of order tracking by short-time transforms: Adv. Mech. Eng.
  // 2015, doi 10.1177/1687814015619277.)
  struct Row {
    double order, spacing, rpm_per_second;
  };
  constexpr double rate = 8000.0;
  constexpr std::size_t blocks = 12;
  for (const Row& row :
       {Row{12, 2, 20.0}, Row{36, 1, 1.667}, Row{36, 4, 26.67}, Row{100.8, 2, 2.381}}) {
    CAPTURE(row.order);
    CAPTURE(row.spacing);
    const auto length = static_cast<std::size_t>(rate / row.spacing);
    const double seconds = static_cast<double>(blocks * length) / rate;
    const std::vector<SpeedPoint> points{
        {0_s, 1500_rpm}, {Seconds(seconds), Rpm(1500.0 + row.rpm_per_second * seconds)}};
    const SpeedCurve speed = SpeedCurve::through(points, 0.0);
    const auto samples = synth_order(speed, Order(row.order), blocks * length, rate, 0.1);

    const Spectrogram grid = spectrogram(samples, rate, {WindowKind::hann, length, length});
    const std::size_t rows = length / 2 + 1;
    const auto top = [&](std::size_t column) {
      const auto* first = grid.power.data() + column * rows;
      return static_cast<double>(std::max_element(first, first + rows) - first);
    };
    REQUIRE(grid.power.size() == blocks * rows);
    CHECK(std::abs(top(blocks - 1) - top(0) - (blocks - 1.0)) <= 1.0);

    OrderMap map(speed, rate, {}, [&](const OrderColumn& column) {
      const auto highest = std::max_element(column.power.begin(), column.power.end());
      const double line = static_cast<double>(highest - column.power.begin());
      CHECK(std::abs(line - row.order * 32.0) <= 0.5 + 1e-6);
    });
    map.push(samples);
    map.finish();
  }
}

TEST_CASE("what lies above the resolved orders does not fold back") {
  // S = 400 samples a revolution resolve order 150. A tone at order 260 lies above 1.25·S/2 = 250
  // and would fold to order 140.
  const PowerSpectrum spectrum = order_spectrum(locked_tones({260.0}, 0.5), kRate, ramp(), {});
  double worst = 0.0;
  for (std::size_t k = 0; spectrum.position(k) <= 150.0; ++k)
    worst = std::max(worst, spectrum.power[k]);
  CHECK(10.0 * std::log10(worst / 0.125) < -80.0);
}

TEST_CASE("the passband is flat within 0.01 dB up to the highest order at constant speed") {
  // 1200 rpm = 20 rev/s; order 149 = 2980 Hz.
  const auto curve = SpeedCurve::constant(1200_rpm, 0.001);
  std::vector<float> samples(static_cast<std::size_t>(kRate * 4.0));
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = static_cast<float>(
        0.1 * std::sin(2.0 * std::numbers::pi * 2980.0 * static_cast<double>(i) / kRate));
  const PowerSpectrum spectrum = order_spectrum(samples, kRate, curve, {});
  const auto line = static_cast<std::size_t>(std::llround(149.0 / spectrum.spacing));
  CHECK(std::abs(10.0 * std::log10(spectrum.power[line] / 0.005)) < 0.01);
}

TEST_CASE("chunking does not change the order map") {
  const auto samples = locked_tones({7.3}, 0.1);
  const auto collect = [&](std::size_t chunk) {
    std::vector<float> all;
    OrderMap map(ramp(), kRate, {}, [&](const OrderColumn& column) {
      all.insert(all.end(), column.power.begin(), column.power.end());
    });
    for (std::size_t i = 0; i < samples.size(); i += chunk)
      map.push(std::span(samples).subspan(i, std::min(chunk, samples.size() - i)));
    map.finish();
    return all;
  };
  const auto whole = collect(samples.size());
  const auto pieces = collect(4799);
  REQUIRE(whole.size() == pieces.size());
  REQUIRE(!whole.empty());
  float largest = 0.0F;
  float difference = 0.0F;
  for (std::size_t i = 0; i < whole.size(); ++i) {
    largest = std::max(largest, whole[i]);
    difference = std::max(difference, std::abs(whole[i] - pieces[i]));
  }
  CHECK(difference <= 1e-6F * largest);
}

TEST_CASE("a hop longer than a block leaves out what lies between") {
  const auto samples = locked_tones({7.3}, 0.1);
  const auto columns_at = [&](double hop, std::size_t chunk) {
    OrderMapParameters parameters;
    parameters.revolutions = 4.0;
    parameters.hop_revolutions = hop;
    std::vector<std::vector<float>> all;
    OrderMap map(ramp(), kRate, parameters, [&](const OrderColumn& column) {
      all.emplace_back(column.power.begin(), column.power.end());
    });
    for (std::size_t i = 0; i < samples.size(); i += chunk)
      map.push(std::span(samples).subspan(i, std::min(chunk, samples.size() - i)));
    map.finish();
    return all;
  };
  const auto close = columns_at(2.0, samples.size());
  for (const std::size_t chunk : {std::size_t{4799}, samples.size()}) {
    const auto far = columns_at(14.0, chunk);
    REQUIRE(far.size() == (close.size() + 6) / 7);
    for (std::size_t i = 0; i < far.size(); ++i)
      for (std::size_t k = 0; k < far[i].size(); ++k)
        CHECK(far[i][k] == doctest::Approx(close[7 * i][k]).epsilon(1e-3));
  }
}

TEST_CASE("audio too short for one block gives an empty order spectrum, not nonsense") {
  const std::vector<float> samples(1000, 0.1F);
  CHECK(order_spectrum(samples, kRate, SpeedCurve::constant(800_rpm, 0.01), {}).power.empty());
}
