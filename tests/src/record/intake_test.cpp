#include "src/record/intake.h"

#include <doctest/doctest.h>

#include <thread>
#include <vector>

#include "tests/src/record/fake_sound.h"

using namespace howl;
using namespace howl::test;

namespace {

std::vector<float> frames_from(std::uint64_t first, std::size_t count, int channels) {
  std::vector<float> frames;
  for (std::uint64_t n = first; n < first + count; ++n)
    for (int c = 0; c < channels; ++c) frames.push_back(told_sample(n, c));
  return frames;
}

}  // namespace

TEST_CASE("ring: what goes in comes out, in order, also over its end") {
  SpscRing<int> ring(5);  // holds 8
  CHECK(ring.capacity() == 8);
  const std::vector<int> six{1, 2, 3, 4, 5, 6};
  std::vector<int> out(8);
  CHECK(ring.push(six));
  CHECK_FALSE(ring.push(six));  // only 2 fit: none is taken
  CHECK(ring.size() == 6);
  CHECK(ring.pop(std::span(out).first(4)) == 4);
  CHECK(ring.push(six));  // crosses the end
  CHECK(ring.space() == 0);
  CHECK(ring.front() == 5);
  CHECK(ring.pop(out) == 8);
  CHECK(out == std::vector<int>{5, 6, 1, 2, 3, 4, 5, 6});
  CHECK(ring.pop(out) == 0);
}

TEST_CASE("intake: lost frames are counted and marked where they belong") {
  Intake intake(2, 8);  // 8 frames of 2 channels
  std::vector<float> out(16);
  intake.take(frames_from(0, 5, 2), false);
  intake.take(frames_from(5, 5, 2), false);   // no room: 5 lost
  intake.take(frames_from(10, 4, 2), false);  // no room: 4 lost
  CHECK(intake.lost() == 9);
  CHECK_FALSE(intake.next_loss().has_value());  // its place is not reached yet
  CHECK(intake.read(out) == 5);
  CHECK_FALSE(intake.next_loss().has_value());  // and nothing came after it
  intake.take(frames_from(14, 3, 2), false);
  CHECK(intake.read(out) == 0);  // the loss comes first
  const auto loss = intake.next_loss();
  REQUIRE(loss.has_value());
  CHECK(loss->position == 5);
  CHECK(loss->frames == 9);
  CHECK(intake.read(out) == 3);
  CHECK(out[0] == told_sample(14, 0));
  CHECK(out[5] == told_sample(16, 1));
}

TEST_CASE("intake: what the device lost is marked without a number") {
  Intake intake(1, 16);
  std::vector<float> out(16);
  intake.take(frames_from(0, 4, 1), false);
  intake.take(frames_from(4, 4, 1), true);
  CHECK(intake.read(out) == 4);
  const auto loss = intake.next_loss();
  REQUIRE(loss.has_value());
  CHECK(loss->position == 4);
  CHECK_FALSE(loss->frames.has_value());
  CHECK(intake.read(out) == 4);
  CHECK(intake.lost() == 0);
}

TEST_CASE("intake: between two threads every frame arrives once, and losses tell of the others") {
  constexpr std::uint64_t blocks = 20'000;
  Intake intake(2, 256);
  std::thread device([&] {
    for (std::uint64_t b = 0; b < blocks; ++b) {
      intake.take(frames_from(17 * b, 17, 2), false);
      if (b % 8 == 0) std::this_thread::yield();
    }
  });
  std::vector<float> out(2 * 100);
  std::uint64_t expected = 0;
  std::uint64_t told_lost = 0;
  bool right = true;
  const auto read_all = [&] {
    for (;;) {
      while (const auto loss = intake.next_loss()) {
        told_lost += *loss->frames;
        expected += *loss->frames;
      }
      const std::size_t frames = intake.read(out);
      if (frames == 0) return;
      for (std::size_t i = 0; i < frames; ++i)
        right = right && out[2 * i] == told_sample(expected + i, 0) &&
                out[2 * i + 1] == told_sample(expected + i, 1);
      expected += frames;
    }
  };
  while (intake.arrived() + intake.lost() < 17 * blocks) read_all();
  device.join();
  read_all();
  CHECK(right);
  CHECK(intake.arrived() + intake.lost() == 17 * blocks);
  // What was lost at the very end has nothing after it, and so no place.
  CHECK(told_lost <= intake.lost());
  CHECK(expected == intake.arrived() + told_lost);
}
