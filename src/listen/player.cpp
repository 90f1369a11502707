#include "src/listen/player.h"

#include <algorithm>
#include <chrono>
#include <string>
#include <utility>

namespace howl {
namespace {

using Clock = std::chrono::steady_clock;

constexpr std::chrono::milliseconds kLookEvery{100};
/// A device that says it lives but asks for nothing for so long is lost.
constexpr std::chrono::seconds kPatience{3};
/// A device is kept so long after the last sound, for the next to begin at once.
constexpr std::chrono::seconds kIdle{20};

Error no_output(const Error& why) {
  return {why.fault(), why.where(), why.problem(),
          "plug in headphones or a loudspeaker, close programs that hold the sound card, and press "
          "play again; all views work without it"};
}

}  // namespace

/// In this order: the stream ends before what it plays, that before its system.
struct Player::Device {
  std::unique_ptr<SoundSystem> system;
  SoundDevice output;
  Playback playback;
  std::unique_ptr<SoundStream> stream;
  std::uint64_t blocks{};
  Clock::time_point moved{Clock::now()};
  Clock::time_point used{Clock::now()};

  Device(std::unique_ptr<SoundSystem> of, SoundDevice to)
      : system(std::move(of)), output(std::move(to)), playback(output.usual_rate) {
    stream = system->open_output({output, output.usual_rate}, playback);
  }
};

Player::Player(OpenSoundSystem open) : open_(std::move(open)), keeper_([this] { keep_device(); }) {}

Player::~Player() {
  {
    const std::scoped_lock lock(mutex_);
    ending_ = true;
  }
  changed_.notify_all();
  keeper_.join();
}

// ---- the keeper's thread -----------------------------------------------------------------------

void Player::keep_device() {
  std::unique_lock lock(mutex_);
  while (!ending_) {
    if (wanted_ && !device_) open_now(lock);
    if (device_) watch_device();
    if (!wanted_ && device_) close_now(lock);
    if (ending_) break;
    if (device_)
      changed_.wait_for(lock, kLookEvery);
    else
      changed_.wait(lock, [this] { return ending_ || wanted_; });
  }
  close_now(lock);
}

void Player::open_now(std::unique_lock<std::mutex>& lock) {
  busy_ = true;
  lock.unlock();
  std::unique_ptr<Device> opened;
  std::optional<Error> fault;
  try {
    auto system = open_();
    SoundDevice output = choose_output(system->devices(), std::nullopt);
    opened = std::make_unique<Device>(std::move(system), std::move(output));
  } catch (const Error& error) {
    fault = no_output(error);
  }
  lock.lock();
  busy_ = false;
  if (fault) wanted_ = false;
  open_fault_ = std::move(fault);
  device_ = std::move(opened);
  if (device_) {
    device_->playback.loop(loops_);
    device_->playback.volume(volume_);
  }
  changed_.notify_all();
}

void Player::close_now(std::unique_lock<std::mutex>& lock) {
  std::unique_ptr<Device> closed = std::move(device_);
  std::vector<SoundPointer> unheard = std::move(held_);
  held_.clear();
  busy_ = true;
  lock.unlock();
  closed.reset();
  unheard.clear();
  lock.lock();
  busy_ = false;
  changed_.notify_all();
}

void Player::watch_device() {
  Device& device = *device_;
  const auto now = Clock::now();
  if (const std::uint64_t blocks = device.playback.blocks(); blocks != device.blocks) {
    device.blocks = blocks;
    device.moved = now;
  }
  if (device.playback.playing()) device.used = now;
  if (now - device.used > kIdle) wanted_ = false;
  if (device.stream->alive() && now - device.moved < kPatience) return;
  fault_ = no_output(
      {Fault::machine, "device '" + device.output.name + "'", "was lost while it played", ""});
  wanted_ = false;
}

// ---- any thread --------------------------------------------------------------------------------

double Player::open_device() {
  std::unique_lock lock(mutex_);
  wanted_ = true;
  open_fault_.reset();
  changed_.notify_all();
  changed_.wait(lock, [this] { return ending_ || (!busy_ && (device_ || open_fault_)); });
  if (device_) return device_->output.usual_rate;
  if (open_fault_) throw Error(*std::exchange(open_fault_, std::nullopt));
  throw Error(Fault::machine, "sound", "is being closed", "try again");
}

void Player::close_device() {
  std::unique_lock lock(mutex_);
  wanted_ = false;
  changed_.notify_all();
  changed_.wait(lock, [this] { return ending_ || (!busy_ && !device_); });
}

void Player::play(SoundPointer sound, double from_seconds) {
  const std::scoped_lock lock(mutex_);
  if (!device_ || !device_->playback.play(sound.get(), from_seconds)) return;
  held_.push_back(std::move(sound));
  device_->used = Clock::now();
}

void Player::change_to(SoundPointer sound) {
  const std::scoped_lock lock(mutex_);
  if (!device_ || !device_->playback.change_to(sound.get())) return;
  held_.push_back(std::move(sound));
}

void Player::seek(double seconds) {
  const std::scoped_lock lock(mutex_);
  if (device_) device_->playback.seek(seconds);
}

void Player::stop() {
  const std::scoped_lock lock(mutex_);
  if (device_) device_->playback.stop();
}

void Player::loop(bool on) {
  const std::scoped_lock lock(mutex_);
  loops_ = on;
  if (device_) device_->playback.loop(on);
}

void Player::volume(Decibel gain) {
  const std::scoped_lock lock(mutex_);
  volume_ = gain;
  if (device_) device_->playback.volume(gain);
}

void Player::let_go_of_unused() {
  std::erase_if(held_,
                [this](const SoundPointer& sound) { return !device_->playback.uses(sound.get()); });
}

PlayerStatus Player::status() {
  const std::scoped_lock lock(mutex_);
  if (!device_) return {};
  let_go_of_unused();
  const Playback& playback = device_->playback;
  const double late = device_->stream->output_latency() * playback.pace();
  return {playback.playing(), playback.at(), std::max(0.0, playback.at() - late),
          playback.held_down(), playback.waits()};
}

std::optional<Error> Player::take_fault() {
  const std::scoped_lock lock(mutex_);
  return std::exchange(fault_, std::nullopt);
}

}  // namespace howl
