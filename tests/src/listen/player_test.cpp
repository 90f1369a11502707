#include "src/listen/player.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <thread>
#include <vector>

#include "tests/src/record/fake_sound.h"

using namespace howl;
using namespace howl::test;

namespace {

template <class Holds>
bool soon(Holds holds) {
  for (int i = 0; i < 500; ++i) {
    if (holds()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return false;
}

std::shared_ptr<PreparedSound> steady(float value, double seconds) {
  const auto count = static_cast<std::size_t>(seconds * 48'000.0);
  auto sound = std::make_shared<PreparedSound>(count, 48'000.0, 1.0);
  sound->append(std::vector<float>(count, value));
  sound->complete();
  return sound;
}

}  // namespace

TEST_CASE("player: plays to its end, and the device hears it") {
  const auto played = std::make_shared<PlayedSound>();
  Player player([&] { return std::make_unique<FakeSystem>(FakeScript{}, played); });
  player.volume(Decibel(0.0));
  CHECK(player.open_device() == 48'000.0);
  player.play(steady(0.1F, 0.5), 0.0);
  CHECK(player.status().playing);
  CHECK(soon([&] { return !player.status().playing; }));
  const auto samples = played->samples();
  CHECK(std::ranges::count_if(samples, [](float s) { return s > 0.09F && s < 0.11F; }) > 20'000);
  CHECK_FALSE(player.take_fault());
}

TEST_CASE("player: stops, lets the device go, and opens it again") {
  int opened = 0;
  Player player([&] {
    ++opened;
    return std::make_unique<FakeSystem>();
  });
  player.open_device();
  player.loop(true);
  player.play(steady(0.1F, 0.2), 0.0);
  player.close_device();
  CHECK_FALSE(player.status().playing);
  player.play(steady(0.1F, 0.2), 0.0);  // no device: nothing happens
  CHECK_FALSE(player.status().playing);
  player.open_device();
  CHECK(opened == 2);
  player.play(steady(0.1F, 0.2), 0.0);
  CHECK(player.status().playing);
  player.stop();
  CHECK(soon([&] { return !player.status().playing; }));
}

TEST_CASE("player: no sound card is told in words, with what to do") {
  Player player([] { return std::make_unique<DeafSystem>(); });
  bool told = false;
  try {
    player.open_device();
  } catch (const Error& error) {
    told = true;
    CHECK(error.fault() == Fault::machine);
    CHECK(error.problem() == "there is none with an output");
    CHECK(error.remedy().find("headphones") != std::string::npos);
  }
  CHECK(told);
}

TEST_CASE("player: a device that goes while it plays is told once") {
  FakeScript script;
  script.dies_after = 48'000;
  Player player([&] { return std::make_unique<FakeSystem>(script); });
  player.open_device();
  player.loop(true);
  player.play(steady(0.1F, 1.0), 0.0);
  std::optional<Error> fault;
  CHECK(soon([&] {
    fault = player.take_fault();
    return fault.has_value();
  }));
  REQUIRE(fault);
  CHECK(fault->problem() == "was lost while it played");
  CHECK_FALSE(player.take_fault());
  CHECK(soon([&] { return !player.status().playing; }));
}

TEST_CASE("player: sounds are let go once the device has done with them") {
  Player player([] { return std::make_unique<FakeSystem>(); });
  player.open_device();
  auto first = steady(0.1F, 5.0);
  const std::weak_ptr<PreparedSound> watched = first;
  player.play(std::move(first), 0.0);
  player.change_to(steady(0.2F, 5.0));
  CHECK(soon([&] {
    player.status();
    return watched.expired();
  }));
}
