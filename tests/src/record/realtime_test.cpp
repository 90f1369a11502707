// The rule for a device's own thread: no allocation, no system calls. Held by the operating system
// and by a hook into the allocator.

#include <doctest/doctest.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <vector>

#include "src/listen/playback.h"
#include "src/record/intake.h"
#include "src/record/monitor.h"
#include "src/record/recorder.h"
#include "tests/src/record/allocation_count.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/scratch_folder.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr int blocks = 2000;
constexpr std::size_t block_frames = 480;

std::vector<float> told_block() {
  std::vector<float> block;
  for (std::uint64_t n = 0; n < block_frames; ++n)
    for (int c = 0; c < 2; ++c) block.push_back(told_sample(n, c));
  return block;
}

/// What a device's thread runs, over and over: with room, and with the ring full; with losses of
/// the device's own; with headphones; and what it plays.
struct DeviceSide {
  Intake intake{2, 200 * block_frames};
  Monitor monitor{48'000.0, {.channel = 2, .gain = Decibel(30.0)}};
  std::vector<float> input = told_block();
  std::vector<float> output = std::vector<float>(2 * block_frames);
  Playback playback{48'000.0};
  PreparedSound first{96'000, 48'000.0, 1.0};
  PreparedSound slow{96'000, 48'000.0, 4.0};

  DeviceSide() {
    first.append(std::vector<float>(96'000, 0.9F));
    first.complete();
    slow.append(std::vector<float>(24'000, 0.5F));  // it runs out of what is prepared
    playback.volume(Decibel(12.0));
    playback.loop(true);
  }

  void run() noexcept {
    for (int i = 0; i < blocks; ++i) {
      intake.take(input, i % 100 == 0);
      monitor.play(input, 2, output);
      // Beginning, going over, looping, seeking, waiting and ending.
      if (i % 300 == 0) playback.play(&first, 0.5);
      if (i % 300 == 100) playback.change_to(&slow);
      if (i % 300 == 200) playback.seek(0.1);
      if (i % 300 == 250) playback.stop();
      playback.take({.input = {}, .output = output});
    }
  }
};

/// How a process ends that runs `deed` while the system allows it read, write and exit only
/// (seccomp strict mode; anything else is SIGKILL).
template <class Deed>
int status_without_system_calls(Deed deed) {
  const pid_t child = fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    if (prctl(PR_SET_SECCOMP, SECCOMP_MODE_STRICT) != 0) _exit(99);
    deed();
    syscall(SYS_exit, 0);
  }
  int status{};
  waitpid(child, &status, 0);
  return status;
}

}  // namespace

TEST_CASE("real time: what runs in the device's thread makes no system call") {
  DeviceSide side;
  const int status = status_without_system_calls([&] { side.run(); });
  CHECK(WIFEXITED(status));
  CHECK(WEXITSTATUS(status) == 0);
  // The guard itself notices one.
  const int caught = status_without_system_calls([] { syscall(SYS_getpid); });
  CHECK(WIFSIGNALED(caught));
  CHECK(WTERMSIG(caught) == SIGKILL);
}

TEST_CASE("real time: what runs in the device's thread allocates nothing") {
  DeviceSide side;
  {
    const AllocationCount count;
    side.run();
    CHECK(count.allocations() == 0);
  }
  CHECK(side.intake.lost() > 0);  // the full ring was part of it
  // The hook itself notices one, from new and from malloc.
  const AllocationCount count;
  std::vector<float> some(1000);
  void* volatile more = std::malloc(1000);  // volatile: else it may be left out
  CHECK(count.allocations() == 2);
  std::free(more);
}

TEST_CASE("real time: a recorder's take() allocates nothing, whatever it is doing") {
  ScratchFolder scratch;
  RecorderSettings settings{.file = scratch / "a.wav", .layout = {SampleCoding::pcm24, 48000, 2}};
  settings.monitor = MonitorSettings{};
  settings.buffer = Seconds(0.5);
  settings.room_to_leave = 0;
  Recorder recorder(settings);
  const std::vector<float> input = told_block();
  std::vector<float> output(input.size());
  std::int64_t allocations = 0;
  for (int i = 0; i < blocks; ++i) {
    if (i == blocks / 2) recorder.begin();
    const AllocationCount count;
    recorder.take({.input = input, .output = output, .input_lost = i % 100 == 0});
    allocations += count.allocations();
  }
  recorder.finish();
  CHECK(allocations == 0);
}
