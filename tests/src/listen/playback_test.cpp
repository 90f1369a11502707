#include "src/listen/playback.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

using namespace howl;

namespace {

constexpr double kRate = 48'000.0;
constexpr std::size_t fade = 480;  // 10 ms

/// A sound whose n-th sample is `of(n)`.
template <class Of>
void fill(PreparedSound& sound, std::size_t samples, Of of) {
  std::vector<float> made(samples);
  for (std::size_t n = 0; n < samples; ++n) made[n] = of(n);
  sound.append(made);
}

std::vector<float> heard(Playback& playback, std::size_t frames) {
  std::vector<float> both(2 * frames);
  for (std::size_t at = 0; at < frames; at += 96) {
    const std::size_t count = std::min<std::size_t>(96, frames - at);
    playback.take({.input = {}, .output = std::span(both).subspan(2 * at, 2 * count)});
  }
  std::vector<float> left(frames);
  for (std::size_t i = 0; i < frames; ++i) {
    left[i] = both[2 * i];
    CHECK(both[2 * i + 1] == both[2 * i]);
  }
  return left;
}

/// Full volume from the start: the smoothing has settled.
struct Settled {
  Playback playback{kRate};
  Settled() {
    playback.volume(Decibel(0.0));
    heard(playback, 48'000);
  }
};

float ramp(std::size_t n) { return static_cast<float>(n) * 1e-6F; }

}  // namespace

TEST_CASE("playback: a sound is played as it is, faded in and out, and ends") {
  Settled settled;
  PreparedSound sound(9600, kRate, 1.0);
  fill(sound, 9600, ramp);
  sound.complete();
  CHECK_FALSE(settled.playback.playing());
  REQUIRE(settled.playback.play(&sound, 0.0));
  CHECK(settled.playback.playing());
  const auto out = heard(settled.playback, 12'000);
  CHECK(out[0] == doctest::Approx(0.0));
  for (const std::size_t n : {fade + 1, std::size_t{5000}, 9600 - fade - 1})
    CHECK(out[n] == doctest::Approx(static_cast<double>(ramp(n))).epsilon(1e-3));
  CHECK(out[9600 - fade / 2] < ramp(9600 - fade / 2));
  CHECK(out[9700] == 0.0F);
  CHECK_FALSE(settled.playback.playing());
  CHECK_FALSE(settled.playback.uses(&sound));
}

TEST_CASE("playback: a loop goes on without a step") {
  Settled settled;
  PreparedSound sound(4800, kRate, 1.0);
  fill(sound, 4800, [](std::size_t) { return 0.1F; });
  sound.complete();
  settled.playback.loop(true);
  settled.playback.play(&sound, 0.0);
  const auto out = heard(settled.playback, 48'000);
  for (std::size_t n = fade; n < out.size(); ++n)
    CHECK(out[n] == doctest::Approx(0.1).epsilon(1e-3));
  CHECK(settled.playback.playing());
  settled.playback.loop(false);
  heard(settled.playback, 4800);
  CHECK_FALSE(settled.playback.playing());
}

TEST_CASE("playback: going over to another sound keeps the place, whatever its speed") {
  Settled settled;
  PreparedSound whole(96'000, kRate, 1.0);
  PreparedSound slow(4 * 96'000, kRate, 4.0);
  fill(whole, 96'000, [](std::size_t) { return 0.05F; });
  fill(slow, 4 * 96'000, [](std::size_t n) { return 0.1F + static_cast<float>(n) * 1e-7F; });
  whole.complete();
  slow.complete();
  settled.playback.play(&whole, 1.0);
  heard(settled.playback, 4800);
  CHECK(settled.playback.at() == doctest::Approx(1.1));
  settled.playback.change_to(&slow);
  const auto out = heard(settled.playback, 4800);
  // 1.1 s of the take are sample 4 · 1.1 · 48000 of what is four times as long.
  const double expected = 0.1 + (4 * 1.1 * kRate + 4799) * 1e-7;
  CHECK(out.back() == doctest::Approx(expected).epsilon(1e-3));
  CHECK(settled.playback.at() == doctest::Approx(1.125).epsilon(1e-4));
  float largest_step = 0;
  for (std::size_t n = 1; n < out.size(); ++n)
    largest_step = std::max(largest_step, std::abs(out[n] - out[n - 1]));
  // 0.067 apart, over 480 samples by half a cosine: π/2 · 0.067/480 at its steepest.
  CHECK(largest_step < 0.00025F);
  CHECK_FALSE(settled.playback.uses(&whole));
  CHECK(settled.playback.uses(&slow));
}

TEST_CASE("playback: never louder than its ceiling, and it says so") {
  Settled settled;
  settled.playback.volume(Decibel(24.0));
  PreparedSound sound(48'000, kRate, 1.0);
  fill(sound, 48'000, [](std::size_t n) { return n % 100 < 50 ? 1.0F : -1.0F; });
  sound.complete();
  settled.playback.play(&sound, 0.0);
  const auto out = heard(settled.playback, 20'000);
  const float most = std::pow(10.0F, -12.0F / 20.0F);
  CHECK(*std::ranges::max_element(out) <= most);
  CHECK(*std::ranges::min_element(out) >= -most);
  CHECK(*std::ranges::max_element(out) > 0.95F * most);
  CHECK(settled.playback.held_down());
}

TEST_CASE("playback: what is not prepared yet is waited for, and nothing is left out") {
  Settled settled;
  PreparedSound sound(48'000, kRate, 1.0);
  fill(sound, 4800, ramp);
  settled.playback.play(&sound, 0.0);
  heard(settled.playback, 9600);
  CHECK(settled.playback.waits());
  CHECK(settled.playback.playing());
  std::vector<float> rest(4800, 0.2F);
  sound.append(rest);
  const auto out = heard(settled.playback, 2400);
  CHECK_FALSE(settled.playback.waits());
  CHECK(out.back() == doctest::Approx(0.2).epsilon(1e-3));
  sound.complete();  // shorter than promised
  heard(settled.playback, 4800);
  CHECK_FALSE(settled.playback.playing());
}

TEST_CASE("playback: a gain for matched levels is taken over smoothly") {
  Settled settled;
  PreparedSound sound(48'000, kRate, 1.0);
  fill(sound, 48'000, [](std::size_t) { return 0.1F; });
  sound.complete();
  settled.playback.play(&sound, 0.0);
  heard(settled.playback, 2400);
  sound.gain = 2.0F;
  const auto out = heard(settled.playback, 9600);
  CHECK(out.front() == doctest::Approx(0.1).epsilon(0.01));
  CHECK(out.back() == doctest::Approx(0.2).epsilon(1e-3));
}

TEST_CASE("playback: stopping ends it within the fade, and a change after it begins nothing") {
  Settled settled;
  PreparedSound sound(48'000, kRate, 1.0);
  fill(sound, 48'000, [](std::size_t) { return 0.1F; });
  sound.complete();
  settled.playback.play(&sound, 0.0);
  heard(settled.playback, 960);
  settled.playback.stop();
  settled.playback.change_to(&sound);
  const auto out = heard(settled.playback, 2400);
  CHECK(out[fade + 96] == 0.0F);
  CHECK(out.back() == 0.0F);
  CHECK_FALSE(settled.playback.playing());
}
