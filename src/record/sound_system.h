#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace howl {

/// A sound device as the system lists it.
struct SoundDevice {
  int number{};  ///< of this listing; from 0
  std::string name;
  std::string system;  ///< what it belongs to: "ALSA"
  int inputs{};        ///< channels
  int outputs{};
  double usual_rate{};  ///< Hz
  bool usual_input{};   ///< recorded from where none is named
  bool usual_output{};
};

/// What a device delivers, and takes, at once.
struct SoundBlock {
  std::span<const float> input;  ///< whole frames, channels interleaved; empty where none is open
  std::span<float> output;       ///< as many frames of two channels, or empty; to be filled
  bool input_lost{};             ///< the device lost sound before this block
};

/// Whoever wants a device's sound.
class BlockTaker {
 public:
  virtual ~BlockTaker() = default;
  /// Called in the device's own thread, which must never wait: no locks, no allocation, no system
  /// calls.
  virtual void take(const SoundBlock& block) noexcept = 0;
};

struct StreamRequest {
  SoundDevice device;
  int channels{1};  ///< the device's first ones
  double sample_rate{48000.0};
  /// Device for the headphones. Where it falls silent, recording goes on.
  std::optional<SoundDevice> monitor;
};

struct OutputRequest {
  SoundDevice device;
  double sample_rate{48000.0};
};

/// Sound that flows from construction to destruction, which ends it at once.
class SoundStream {
 public:
  virtual ~SoundStream() = default;
  /// False once the device has gone or gave up.
  virtual bool alive() const = 0;
  /// How long after a block what it played is heard, in s; 0 where that is not known.
  virtual double output_latency() const { return 0.0; }
};

/// All that recording and playing need of a computer's sound devices, so that tests can stand in
/// for them.
class SoundSystem {
 public:
  virtual ~SoundSystem() = default;
  virtual std::vector<SoundDevice> devices() = 0;
  /// `taker` must outlive the stream. Throws Error (machine fault): the device is busy or gone, or
  /// does not have the channels or the rate.
  virtual std::unique_ptr<SoundStream> open(const StreamRequest& request, BlockTaker& taker) = 0;
  /// The same for playing alone: blocks have an output of two channels and no input.
  virtual std::unique_ptr<SoundStream> open_output(const OutputRequest& request,
                                                   BlockTaker& taker) = 0;
};

/// Makes a sound system anew, so that a device that was plugged in meanwhile is found.
using OpenSoundSystem = std::function<std::unique_ptr<SoundSystem>()>;

/// The device of that number or name (or part of a name that only one has); the usual one for
/// nothing. Throws Error: no device at all (machine fault), none of that name (command fault).
SoundDevice choose_input(const std::vector<SoundDevice>& devices,
                         const std::optional<std::string>& wanted);
SoundDevice choose_output(const std::vector<SoundDevice>& devices,
                          const std::optional<std::string>& wanted);

}  // namespace howl
