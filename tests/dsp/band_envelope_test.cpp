#include "dsp/band_envelope.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <stdexcept>

#include "dsp/spectrum.h"

using namespace howl;

namespace {

constexpr double kRate = 8000.0;
constexpr double kTwoPi = 2.0 * std::numbers::pi;

template <class Function>
std::vector<float> sampled(double seconds, const Function& f) {
  std::vector<float> samples(static_cast<std::size_t>(seconds * kRate));
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = static_cast<float>(f(static_cast<double>(i) / kRate));
  return samples;
}

struct Envelope {
  double rate;
  double settling;
  std::vector<std::complex<float>> z;

  template <class Check>
  void each_inside(const Check& check) const {
    const double end = static_cast<double>(z.size()) / rate - settling;
    for (std::size_t i = 0; i < z.size(); ++i) {
      const double t = static_cast<double>(i) / rate;
      if (t > settling && t < end) check(t, static_cast<double>(std::abs(z[i])));
    }
  }
};

Envelope envelope_of(const std::vector<float>& samples, Interval band, double attenuation,
                     std::size_t chunk = 1U << 20U) {
  BandEnvelope envelope(kRate, band, attenuation);
  Envelope out{envelope.output_rate(), envelope.settling(), {}};
  for (std::size_t i = 0; i < samples.size(); i += chunk)
    envelope.push(std::span(samples).subspan(i, std::min(chunk, samples.size() - i)), out.z);
  envelope.finish(out.z);
  return out;
}

double modulated(double t, double depth) {
  return (1.0 + depth * std::cos(kTwoPi * 10.0 * t)) * std::cos(kTwoPi * 1000.0 * t);
}

/// Level of the line at `hertz` re the one at 1000 Hz.
double sideband_db(const std::vector<float>& samples, double hertz) {
  const PowerSpectrum spectrum =
      welch_spectrum(samples, kRate, {WindowKind::hann, 8000, 4000});  // lines 1 Hz apart
  return 10.0 * std::log10(spectrum.power[static_cast<std::size_t>(hertz)] / spectrum.power[1000]);
}

}  // namespace

TEST_CASE("envelope of (1 + m cos) times a carrier is 1 + m cos (Bendat and Piersol, eq. 13.27)") {
  // 1000 Hz carrier, 10 Hz, m = 0.5. Single precision bounds the error.
  const auto samples = sampled(2.0, [](double t) { return modulated(t, 0.5); });
  double worst = 0.0;
  envelope_of(samples, {800.0, 1200.0}, 150.0).each_inside([&](double t, double envelope) {
    worst = std::max(worst, std::abs(envelope - (1.0 + 0.5 * std::cos(kTwoPi * 10.0 * t))));
  });
  CHECK(worst < 1e-6);
  worst = 0.0;
  envelope_of(samples, {800.0, 1200.0}, 80.0).each_inside([&](double t, double envelope) {
    worst = std::max(worst, std::abs(envelope - (1.0 + 0.5 * std::cos(kTwoPi * 10.0 * t))));
  });
  CHECK(worst < 3e-4);  // 80 dB of ripple on three lines
}

TEST_CASE("amplitude modulation of depth m puts m/2 beside the carrier") {
  // 20 lg(m/2), worked by hand.
  const auto level = [](double m) {
    return sideband_db(sampled(3.0, [m](double t) { return modulated(t, m); }), 1010.0);
  };
  CHECK(level(0.1) == doctest::Approx(-26.02).epsilon(0.001));
  CHECK(level(0.5) == doctest::Approx(-12.04).epsilon(0.001));
  CHECK(level(1.0) == doctest::Approx(-6.02).epsilon(0.001));
}

TEST_CASE("phase modulation has the same kind of sidebands, and a flat envelope") {
  // J1/J0 of the index, worked by hand from the Bessel functions; no carrier at 2.405.
  const auto turned = [](double index) {
    return sampled(3.0, [index](double t) {
      return std::cos(kTwoPi * 1000.0 * t + index * std::sin(kTwoPi * 10.0 * t));
    });
  };
  CHECK(sideband_db(turned(0.1), 1010.0) == doctest::Approx(-26.01).epsilon(0.001));
  CHECK(sideband_db(turned(0.5), 1010.0) == doctest::Approx(-11.76).epsilon(0.001));
  CHECK(sideband_db(turned(1.0), 1010.0) == doctest::Approx(-4.81).epsilon(0.002));
  CHECK(sideband_db(turned(2.404826), 1010.0) > 60.0);
  envelope_of(turned(0.5), {800.0, 1200.0}, 80.0).each_inside([](double, double envelope) {
    CHECK(std::abs(envelope - 1.0) < 1e-3);
  });
}

TEST_CASE("a sine outside the band is down by the attenuation") {
  const auto samples = sampled(2.0, [](double t) { return std::cos(kTwoPi * 1270.0 * t); });
  envelope_of(samples, {800.0, 1200.0}, 80.0).each_inside([](double, double envelope) {
    CHECK(20.0 * std::log10(envelope) < -78.0);
  });
}

TEST_CASE("chunking does not change the envelope, which ends with the audio") {
  const auto samples = sampled(0.5, [](double t) { return modulated(t, 0.3); });
  const Envelope whole = envelope_of(samples, {900.0, 1100.0}, 80.0);
  const Envelope pieces = envelope_of(samples, {900.0, 1100.0}, 80.0, 37);
  CHECK(whole.z == pieces.z);
  CHECK(static_cast<double>(whole.z.size()) ==
        doctest::Approx(0.5 * whole.rate).epsilon(2.0 / static_cast<double>(whole.z.size())));
}

TEST_CASE("bands that do not fit are refused") {
  CHECK_THROWS_AS(BandEnvelope(kRate, {0.0, 100.0}), std::invalid_argument);
  CHECK_THROWS_AS(BandEnvelope(kRate, {3500.0, 3990.0}), std::invalid_argument);
  CHECK_THROWS_AS(BandEnvelope(kRate, {900.0, 900.0}), std::invalid_argument);
  CHECK_THROWS_AS(BandEnvelope(kRate, {900.0, 1000.0}, 20.0), std::invalid_argument);
}

TEST_CASE("envelope: the gain told is what a sine comes out with") {
  const Interval band{800.0, 1200.0};
  BandEnvelope envelope(kRate, band);
  for (const double hertz : {760.0, 800.0, 840.0, 1000.0, 1220.0}) {
    const auto samples = sampled(1.0, [=](double t) { return std::cos(kTwoPi * hertz * t); });
    const double told = envelope.gain(hertz);
    envelope_of(samples, band, 80.0).each_inside([&](double, double heard) {
      CHECK(heard == doctest::Approx(told).epsilon(1e-3));
    });
  }
  CHECK(envelope.gain(800.0) == doctest::Approx(0.5).epsilon(0.01));
  CHECK(envelope.gain(1000.0) == doctest::Approx(1.0).epsilon(0.001));
  CHECK(envelope.gain(1300.0) < 2e-4);
}
