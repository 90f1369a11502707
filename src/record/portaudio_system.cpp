#include "src/record/portaudio_system.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <portaudio.h>
#include <unistd.h>

#include <algorithm>
#include <cstddef>
#include <string>
#include <string_view>

#include "src/errors.h"
#include "src/files/descriptor.h"
#include "src/record/monitor_bridge.h"

namespace howl {

namespace {

constexpr int played_channels = 2;
/// Short enough for a live picture, long enough for a laptop that does something else meanwhile.
constexpr double latency_seconds = 0.04;
/// Where nothing is recorded nobody waits for it: rather no gaps.
constexpr double latency_playing_seconds = 0.15;

/// While it lives, what libraries print about devices that are not there goes nowhere.
class QuietStandardError {
 public:
  QuietStandardError() : before_(::fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 3)) {
    const Descriptor nowhere(::open("/dev/null", O_WRONLY | O_CLOEXEC));
    if (before_.get() >= 0 && nowhere.get() >= 0) ::dup2(nowhere.get(), STDERR_FILENO);
  }
  ~QuietStandardError() {
    if (before_.get() >= 0) ::dup2(before_.get(), STDERR_FILENO);
  }
  QuietStandardError(const QuietStandardError&) = delete;
  QuietStandardError& operator=(const QuietStandardError&) = delete;

 private:
  Descriptor before_;
};

Error failed(const std::string& where, PaError problem) {
  std::string_view remedy = "see 'howlpoint devices', and choose another with --device";
  if (problem == paInvalidSampleRate) remedy = "choose another with --rate";
  if (problem == paInvalidChannelCount) remedy = "use fewer channels, or another --device";
  if (problem == paDeviceUnavailable)
    remedy = "close the program that uses it, or choose another with --device";
  return {Fault::machine, where, fmt::format("does not open ({})", Pa_GetErrorText(problem)),
          std::string(remedy)};
}

int on_block(const void* input, void* output, unsigned long frames,
             const PaStreamCallbackTimeInfo* /*time*/, PaStreamCallbackFlags flags, void* user);

enum class Direction { records, plays };

struct StreamOrder {
  Direction direction{};
  const SoundDevice* device{};
  int channels{};
  double sample_rate{};
  double latency{};  ///< s
};

class PortAudioStream final : public SoundStream {
 public:
  PortAudioStream(const StreamOrder& order, BlockTaker& taker)
      : channels_(static_cast<std::size_t>(order.channels)), taker_(&taker) {
    const PaStreamParameters end{.device = order.device->number,
                                 .channelCount = order.channels,
                                 .sampleFormat = paFloat32,
                                 .suggestedLatency = order.latency,
                                 .hostApiSpecificStreamInfo = nullptr};
    const bool records = order.direction == Direction::records;
    const QuietStandardError quiet;
    const PaError problem = Pa_OpenStream(
        &stream_, records ? &end : nullptr, records ? nullptr : &end, order.sample_rate,
        paFramesPerBufferUnspecified, paClipOff | paDitherOff, on_block, this);
    if (problem != paNoError) throw failed(order.device->name, problem);
    if (const PaError start = Pa_StartStream(stream_); start != paNoError) {
      Pa_CloseStream(stream_);
      throw failed(order.device->name, start);
    }
  }
  ~PortAudioStream() override {
    const QuietStandardError quiet;
    Pa_AbortStream(stream_);
    Pa_CloseStream(stream_);
  }
  PortAudioStream(const PortAudioStream&) = delete;
  PortAudioStream& operator=(const PortAudioStream&) = delete;

  bool alive() const override { return Pa_IsStreamActive(stream_) == 1; }
  double output_latency() const override {
    const PaStreamInfo* const info = Pa_GetStreamInfo(stream_);
    return info == nullptr ? 0.0 : info->outputLatency;
  }

  void pass_on(const float* input, float* output, std::size_t frames, bool lost) noexcept {
    taker_->take(
        {.input =
             input == nullptr ? std::span<const float>{} : std::span(input, frames * channels_),
         .output = output == nullptr ? std::span<float>{} : std::span(output, frames * channels_),
         .input_lost = lost});
  }

 private:
  PaStream* stream_{};
  std::size_t channels_;
  BlockTaker* taker_;
};

int on_block(const void* input, void* output, unsigned long frames,
             const PaStreamCallbackTimeInfo* /*time*/, PaStreamCallbackFlags flags, void* user) {
  static_cast<PortAudioStream*>(user)->pass_on(static_cast<const float*>(input),
                                               static_cast<float*>(output), frames,
                                               (flags & paInputOverflow) != 0);
  return paContinue;
}

/// Two streams, not one that does both: PortAudio ends the latter when its output runs dry on ALSA,
/// and with it the recording.
class MonitoredStream final : public SoundStream {
 public:
  MonitoredStream(const StreamRequest& request, const SoundDevice& monitor, BlockTaker& taker)
      : bridge_(request.sample_rate, request.channels, taker),
        headphones_({.direction = Direction::plays,
                     .device = &monitor,
                     .channels = played_channels,
                     .sample_rate = request.sample_rate,
                     .latency = latency_seconds},
                    bridge_.player()),
        probe_({.direction = Direction::records,
                .device = &request.device,
                .channels = request.channels,
                .sample_rate = request.sample_rate,
                .latency = latency_seconds},
               bridge_) {}

  bool alive() const override { return probe_.alive(); }
  double output_latency() const override { return headphones_.output_latency(); }

 private:
  MonitorBridge bridge_;
  PortAudioStream headphones_;
  PortAudioStream probe_;
};

class PortAudioSystem final : public SoundSystem {
 public:
  PortAudioSystem() {
    const QuietStandardError quiet;
    if (const PaError problem = Pa_Initialize(); problem != paNoError)
      throw Error(Fault::machine, "sound devices",
                  fmt::format("cannot be asked for ({})", Pa_GetErrorText(problem)),
                  "check that the sound system runs");
  }
  ~PortAudioSystem() override {
    const QuietStandardError quiet;
    Pa_Terminate();
  }
  PortAudioSystem(const PortAudioSystem&) = delete;
  PortAudioSystem& operator=(const PortAudioSystem&) = delete;

  std::vector<SoundDevice> devices() override {
    std::vector<SoundDevice> found;
    for (PaDeviceIndex i = 0; i < std::max(Pa_GetDeviceCount(), 0); ++i) {
      const PaDeviceInfo* info = Pa_GetDeviceInfo(i);
      if (info == nullptr) continue;
      const PaHostApiInfo* host = Pa_GetHostApiInfo(info->hostApi);
      found.push_back({.number = i,
                       .name = info->name,
                       .system = host == nullptr ? "" : host->name,
                       .inputs = info->maxInputChannels,
                       .outputs = info->maxOutputChannels,
                       .usual_rate = info->defaultSampleRate,
                       .usual_input = i == Pa_GetDefaultInputDevice(),
                       .usual_output = i == Pa_GetDefaultOutputDevice()});
    }
    return found;
  }

  std::unique_ptr<SoundStream> open(const StreamRequest& request, BlockTaker& taker) override {
    if (request.monitor) return std::make_unique<MonitoredStream>(request, *request.monitor, taker);
    return std::make_unique<PortAudioStream>(StreamOrder{.direction = Direction::records,
                                                         .device = &request.device,
                                                         .channels = request.channels,
                                                         .sample_rate = request.sample_rate,
                                                         .latency = latency_seconds},
                                             taker);
  }
  std::unique_ptr<SoundStream> open_output(const OutputRequest& request,
                                           BlockTaker& taker) override {
    return std::make_unique<PortAudioStream>(StreamOrder{.direction = Direction::plays,
                                                         .device = &request.device,
                                                         .channels = played_channels,
                                                         .sample_rate = request.sample_rate,
                                                         .latency = latency_playing_seconds},
                                             taker);
  }
};

}  // namespace

std::unique_ptr<SoundSystem> portaudio_system() { return std::make_unique<PortAudioSystem>(); }

}  // namespace howl
