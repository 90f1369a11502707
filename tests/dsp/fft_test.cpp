#include "dsp/fft.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <string>

#include "dsp/statistics.h"

namespace {

using howl::FftPath;
using howl::RealFft;

std::vector<float> noise(std::size_t samples, std::uint64_t seed = 1) {
  howl::Random random(seed);
  std::vector<float> values(samples);
  for (float& value : values) value = static_cast<float>(howl::draw_normal(random));
  return values;
}

std::vector<float> ones(std::size_t size) { return std::vector<float>(size, 1.0F); }

/// By definition, in double precision.
std::vector<std::complex<double>> dft(std::span<const float> frame, std::span<const float> window) {
  const std::size_t size = frame.size();
  std::vector<std::complex<double>> bins(size / 2 + 1);
  for (std::size_t k = 0; k < bins.size(); ++k) {
    for (std::size_t n = 0; n < size; ++n) {
      const double turn = static_cast<double>(k * n % size) / static_cast<double>(size);
      bins[k] += static_cast<double>(frame[n]) * static_cast<double>(window[n]) *
                 std::polar(1.0, -2.0 * std::numbers::pi * turn);
    }
  }
  return bins;
}

template <class Complexes>
double largest_magnitude(const Complexes& values) {
  double largest = 0.0;
  for (const auto& value : values) {
    largest = std::max(largest, static_cast<double>(std::abs(value)));
  }
  return largest;
}

double largest_error(std::span<const std::complex<float>> got,
                     std::span<const std::complex<double>> expected) {
  double largest = 0.0;
  for (std::size_t k = 0; k < expected.size(); ++k) {
    largest = std::max(largest, std::abs(std::complex<double>(got[k]) - expected[k]));
  }
  return largest / largest_magnitude(expected);
}

/// Frames that overlap, more of them than any path has lanes.
struct Frames {
  explicit Frames(std::size_t frame_size)
      : size(frame_size), hop(std::max<std::size_t>(1, size / 3)) {
    signal = noise(size + (count - 1) * hop);
    window = noise(size, 2);
  }
  std::span<const float> frame(std::size_t index) const {
    return std::span(signal).subspan(index * hop, size);
  }
  std::vector<std::complex<float>> transform(FftPath path) const {
    RealFft fft(size, path);
    std::vector<std::complex<float>> out(count * fft.bins());
    fft.transform(signal, hop, count, window, out);
    return out;
  }
  std::vector<float> power(FftPath path) const {
    RealFft fft(size, path);
    std::vector<float> out(count * fft.bins());
    fft.power(signal, hop, count, window, out);
    return out;
  }

  std::size_t size;
  std::size_t hop;
  std::size_t count{19};
  std::vector<float> signal;
  std::vector<float> window;
};

constexpr std::size_t sizes[] = {2,   4,   6,   8,    10,   12,   14,   16,   18,  22,  26,
                                 30,  32,  34,  50,   64,   90,   98,   128,  210, 256, 360,
                                 442, 512, 750, 1000, 1024, 1536, 2048, 2310, 4096};

TEST_CASE("every path and size is the DFT of its definition") {
  for (const auto path : howl::available_fft_paths()) {
    double worst = 0.0;
    for (const std::size_t size : sizes) {
      CAPTURE(size);
      const Frames frames(size);
      const auto spectra = frames.transform(path);
      const auto powers = frames.power(path);
      const std::size_t bins = size / 2 + 1;
      for (const std::size_t frame : {std::size_t{0}, std::size_t{5}, frames.count - 1}) {
        const auto expected = dft(frames.frame(frame), frames.window);
        const auto got = std::span(spectra).subspan(frame * bins, bins);
        worst = std::max(worst, largest_error(got, expected));
        const double peak = std::norm(largest_magnitude(expected));
        for (std::size_t k = 0; k < bins; ++k) {
          const auto power = static_cast<double>(powers[frame * bins + k]);
          CHECK(std::abs(power - std::norm(expected[k])) <= 2e-6 * peak);
        }
      }
    }
    CAPTURE(std::string(howl::fft_path_name(path)));
    CHECK(worst <= 1e-6);
  }
}

// A pure tone shows errors of the twiddle factors as lines of their own, which noise would hide.
TEST_CASE("a tone on a line leaves every other line empty, to float precision") {
  constexpr std::size_t size = 16384;
  std::vector<float> tone(size);
  for (std::size_t n = 0; n < size; ++n) {
    const double turn = static_cast<double>(1234 * n % size) / static_cast<double>(size);
    tone[n] = static_cast<float>(std::cos(2.0 * std::numbers::pi * turn));
  }
  for (const auto path : howl::available_fft_paths()) {
    CAPTURE(std::string(howl::fft_path_name(path)));
    RealFft fft(size, path);
    std::vector<float> power(fft.bins());
    fft.power(tone, size, 1, ones(size), power);
    CHECK(power[1234] == doctest::Approx(size / 2.0 * size / 2.0).epsilon(1e-6));
    power[1234] = 0.0F;
    const double floor_db =
        10.0 * std::log10(static_cast<double>(*std::max_element(power.begin(), power.end())) /
                          (size / 2.0 * size / 2.0));
    CHECK(floor_db <= -130.0);
  }
}

TEST_CASE("paths agree with one another") {
  for (const std::size_t size : sizes) {
    CAPTURE(size);
    const Frames frames(size);
    const auto reference = frames.transform(FftPath::scalar);
    const double largest = largest_magnitude(reference);
    for (const auto path : howl::available_fft_paths()) {
      const auto spectra = frames.transform(path);
      for (std::size_t i = 0; i < spectra.size(); ++i) {
        CHECK(static_cast<double>(std::abs(spectra[i] - reference[i])) <= 2e-6 * largest);
      }
    }
  }
}

// What chunk-independence of everything above rests on.
TEST_CASE("a frame's bits do not depend on how many frames go with it") {
  const Frames frames(360);
  for (const auto path : howl::available_fft_paths()) {
    const auto together = frames.power(path);
    RealFft fft(frames.size, path);
    for (std::size_t frame = 0; frame < frames.count; ++frame) {
      std::vector<float> alone(fft.bins());
      fft.power(frames.frame(frame), 1, 1, frames.window, alone);
      CHECK(std::equal(alone.begin(), alone.end(),
                       together.begin() + static_cast<std::ptrdiff_t>(frame * fft.bins())));
    }
  }
}

TEST_CASE("a frame that is not finite spoils no other") {
  Frames frames(64);
  frames.hop = 64;
  frames.signal = noise(64 * frames.count);
  const auto clean = frames.power(howl::available_fft_paths().back());
  frames.signal[3 * 64 + 5] = std::numeric_limits<float>::quiet_NaN();
  const auto spoilt = frames.power(howl::available_fft_paths().back());
  for (std::size_t i = 0; i < clean.size(); ++i) {
    if (i / 33 == 3) {
      CHECK(std::isnan(spoilt[i]));
    } else {
      CHECK(spoilt[i] == clean[i]);
    }
  }
}

TEST_CASE("the default path is among those available, and so is scalar, for any size") {
  const auto paths = howl::available_fft_paths();
  CHECK(paths.front() == FftPath::scalar);
  CHECK(RealFft(8).path() == paths.back());
  for (const std::size_t size : {2U, 2048U, 2050U, 65536U}) {
    CHECK(std::count(paths.begin(), paths.end(), RealFft(size).path()) == 1);
  }
}

TEST_CASE("sizes that do not fit are refused") {
  CHECK_THROWS_AS(RealFft(0), std::invalid_argument);
  CHECK_THROWS_AS(RealFft(7), std::invalid_argument);
  RealFft fft(8);
  std::vector<float> out(2 * fft.bins());
  const auto signal = noise(15);
  CHECK_THROWS_AS(fft.power(signal, 8, 2, ones(8), out), std::invalid_argument);
  CHECK_THROWS_AS(fft.power(signal, 7, 2, ones(7), out), std::invalid_argument);
  CHECK_THROWS_AS(fft.power(signal, 7, 1, ones(8), out), std::invalid_argument);
  CHECK_THROWS_AS(fft.power(std::span(signal).first(7), 7, 1, ones(8), std::span(out).first(5)),
                  std::invalid_argument);
  CHECK_NOTHROW(fft.power(signal, 7, 2, ones(8), out));
  CHECK_NOTHROW(fft.power({}, 7, 0, ones(8), {}));
}

}  // namespace
