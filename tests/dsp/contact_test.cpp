#include "dsp/contact.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 32000.0;

std::vector<float> noise(double seconds, std::uint64_t seed = 1) {
  Random random(seed);
  return synth_pink(static_cast<std::size_t>(seconds * kRate), kRate, 0.05, random);
}

void scale(std::vector<float>& x, double from, double to, double gain) {
  for (auto i = static_cast<std::size_t>(from * kRate); i < static_cast<std::size_t>(to * kRate);
       ++i)
    x[i] *= static_cast<float>(gain);
}

ContactFaults find(const std::vector<float>& x,
                   const SpeedCurve& speed = SpeedCurve::constant(Rpm(1500.0), 0.003)) {
  ContactFinder finder(kRate, speed);
  finder.push(x);
  return finder.finish();
}

}  // namespace

TEST_CASE("contact: steady noise has no fault") {
  const ContactFaults faults = find(noise(10.0));
  CHECK(faults.lost.empty());
  CHECK(faults.loose.empty());
  CHECK(faults.knocks.empty());
}

TEST_CASE("contact: lost where the sound drops by 40 dB, to a tenth of a second") {
  std::vector<float> x = noise(8.0);
  scale(x, 3.0, 3.6, 0.01);
  const ContactFaults faults = find(x);
  REQUIRE(faults.lost.size() == 1);
  CHECK(faults.lost.front().low == doctest::Approx(3.0).epsilon(0.04));
  CHECK(faults.lost.front().high == doctest::Approx(3.6).epsilon(0.04));
}

TEST_CASE("contact: a howl that ends is no lost contact") {
  std::vector<float> x = noise(8.0);
  std::vector<float> howl = synth_tone(std::vector<double>(x.size(), 900.0), kRate, 0.5);
  for (std::size_t i = x.size() / 2; i < x.size(); ++i) howl[i] = 0.0F;
  synth_add(x, howl);
  const ContactFaults faults = find(x);
  CHECK(faults.lost.empty());
  CHECK(faults.loose.empty());
}

TEST_CASE("contact: loose where the upper octaves fall by 14 dB and the lower by 7") {
  std::vector<float> x = noise(10.0);
  // First-order low-pass that is 14 dB down at 5 times its corner.
  std::vector<float> dull = x;
  const double a = 1.0 - std::exp(-2.0 * std::numbers::pi * 150.0 / kRate);
  double y = 0.0;
  for (float& v : dull) v = static_cast<float>(y += a * (static_cast<double>(v) - y));
  std::copy(dull.begin() + static_cast<std::ptrdiff_t>(4.0 * kRate),
            dull.begin() + static_cast<std::ptrdiff_t>(5.5 * kRate),
            x.begin() + static_cast<std::ptrdiff_t>(4.0 * kRate));
  // Both, lost and loose, say that the probe was not held; here the octaves stand between.
  const ContactFaults faults = find(x);
  TimeSpans both = faults.lost;
  both.insert(both.end(), faults.loose.begin(), faults.loose.end());
  both = merged(both, 0.0, 0.1);
  REQUIRE(both.size() == 1);
  CHECK(both.front().low == doctest::Approx(4.0).epsilon(0.03));
  CHECK(both.front().high == doctest::Approx(5.5).epsilon(0.03));
}

TEST_CASE("contact: sound that falls with engine speed is none") {
  const std::vector<SpeedPoint> ends{{Seconds(0.0), Rpm(3000.0)}, {Seconds(12.0), Rpm(750.0)}};
  const SpeedCurve falls = SpeedCurve::through(ends, 0.01);
  std::vector<float> x = noise(12.0);
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double octaves =
        std::log2(falls.at(Seconds(static_cast<double>(i) / kRate)).value / 3000.0);
    x[i] *= static_cast<float>(std::pow(10.0, 12.0 * octaves / 20.0));
  }
  const ContactFaults faults = find(x, falls);
  CHECK(faults.lost.empty());
  CHECK(faults.loose.empty());
}

TEST_CASE("contact: knocks are found and a rattle is none") {
  const auto struck = [](double every) {
    std::vector<float> x = noise(10.0);
    Random random(9);
    for (double t = 1.0; t < 9.5; t += every)
      for (std::size_t i = 0; i < 3200; ++i)
        x[static_cast<std::size_t>(t * kRate) + i] += static_cast<float>(
            1.5 * std::exp(-static_cast<double>(i) / 400.0) * draw_normal(random));
    return find(x).knocks;
  };
  const TimeSpans two = struck(4.5);
  REQUIRE(two.size() == 2);
  CHECK(two.front().contains(1.01));
  CHECK(two.back().contains(5.51));
  CHECK(covered(two) < 0.5);
  CHECK(struck(0.4).empty());
}

TEST_CASE("contact: nothing is said of a moment, or of a rate that holds two octaves") {
  CHECK(find(noise(0.02)).lost.empty());
  ContactFinder finder(2000.0, std::nullopt);
  finder.push(noise(1.0));
  CHECK(finder.finish().knocks.empty());
  CHECK_FALSE(finder.usual_density());
}
