#include "src/record/recorder.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "src/record/one_channel.h"

namespace howl {

namespace {

constexpr std::chrono::milliseconds drain_every{10};
constexpr std::chrono::milliseconds promise_every{500};
constexpr double before_signal_seconds = 0.5;
constexpr double piece_seconds = 0.1;
constexpr std::uint64_t silence_frames_at_once = 4096;

std::size_t frames_in(Seconds time, double rate) {
  return static_cast<std::size_t>(std::lround(time.value * rate));
}

std::uint64_t most_frames(const RecorderSettings& settings) {
  return settings.length ? frames_in(*settings.length, settings.layout.sample_rate)
                         : std::numeric_limits<std::uint64_t>::max();
}

}  // namespace

Recorder::Recorder(RecorderSettings settings)
    : settings_(std::move(settings)),
      channels_(settings_.layout.channels),
      most_frames_(most_frames(settings_)),
      intake_(settings_.layout.channels, frames_in(settings_.buffer, settings_.layout.sample_rate)),
      wav_(settings_.file, settings_.layout),
      meters_(channels_, LevelMeter(settings_.layout.sample_rate)),
      piece_(channels_ * frames_in(Seconds(piece_seconds), settings_.layout.sample_rate)) {
  if (settings_.monitor) monitor_.emplace(settings_.layout.sample_rate, *settings_.monitor);
  if (settings_.start_level) signal_.emplace(settings_.layout.sample_rate, *settings_.start_level);
  status_.meters.resize(channels_);
  writer_ = std::thread([this] { write_until_told(); });
  promiser_ = std::thread([this] { promise_until_told(); });
}

Recorder::~Recorder() {
  if (writer_.joinable()) finish();
}

void Recorder::take(const SoundBlock& block) noexcept {
  intake_.take(block.input, block.input_lost);
  if (monitor_)
    monitor_->play(block.input, intake_.channels(), block.output);
  else
    std::ranges::fill(block.output, 0.0F);
}

void Recorder::begin() {
  set_phase(settings_.start_level ? RecorderPhase::waiting : RecorderPhase::recording);
}

RecorderStatus Recorder::status() const {
  const std::scoped_lock lock(mutex_);
  RecorderStatus now = status_;
  now.arrived = intake_.arrived();
  return now;
}

RecorderStatus Recorder::finish() {
  {
    const std::scoped_lock lock(mutex_);
    told_to_stop_ = true;
  }
  wake_.notify_all();
  writer_.join();
  promiser_.join();
  unless_it_fails([&] { wav_.finish(); });
  unless_it_fails([&] { tell_overruns(); });
  {
    const std::scoped_lock lock(mutex_);
    status_.frames = wav_.frames();
  }
  return status();
}

RecorderPhase Recorder::phase() const {
  const std::scoped_lock lock(mutex_);
  return status_.phase;
}

void Recorder::set_phase(RecorderPhase phase) {
  const std::scoped_lock lock(mutex_);
  status_.phase = phase;
}

// ---- the writing thread ----

void Recorder::write_until_told() {
  for (bool stop = false; !stop;) {
    stop = told_to_stop_after(drain_every);
    drain();
  }
}

bool Recorder::told_to_stop_after(std::chrono::milliseconds wait) {
  std::unique_lock lock(mutex_);
  return wake_.wait_for(lock, wait, [&] { return told_to_stop_; });
}

void Recorder::drain() {
  for (;;) {
    while (const auto loss = intake_.next_loss()) note_loss(*loss);
    const std::size_t frames = intake_.read(piece_);
    if (frames == 0) return;
    hear(std::span(piece_).first(frames * channels_));
  }
}

void Recorder::hear(std::span<const float> frames) {
  std::vector<MeterReading> readings;
  for (std::size_t c = 0; c < channels_; ++c) {
    take_channel(frames, channels_, c, one_channel_);
    meters_[c].push(one_channel_);
    readings.push_back(meters_[c].reading());
  }
  if (settings_.listener) settings_.listener(frames);
  keep(frames);
  const std::scoped_lock lock(mutex_);
  status_.meters = std::move(readings);
}

void Recorder::keep(std::span<const float> frames) {
  switch (phase()) {
    case RecorderPhase::listening:
      for (LevelMeter& meter : meters_) meter.forget();
      keep_before_signal(frames);
      return;
    case RecorderPhase::waiting: {
      const std::size_t start = signal_in(frames);
      keep_before_signal(frames.first(start));
      if (start == frames.size()) {
        for (LevelMeter& meter : meters_) meter.forget();
        return;
      }
      set_phase(RecorderPhase::recording);
      write(before_signal_);
      write(frames.subspan(start));
      return;
    }
    case RecorderPhase::recording:
      write(frames);
      return;
    case RecorderPhase::full:
    case RecorderPhase::failed:
      return;
  }
}

/// Where in `frames` the sound begins; at their end where it does not.
std::size_t Recorder::signal_in(std::span<const float> frames) {
  take_channel(frames, channels_, 0, one_channel_);
  const auto noticed = signal_->push(one_channel_);
  return noticed ? *noticed * channels_ : frames.size();
}

void Recorder::keep_before_signal(std::span<const float> frames) {
  if (!signal_) return;
  const std::size_t most =
      channels_ * frames_in(Seconds(before_signal_seconds), settings_.layout.sample_rate);
  before_signal_.insert(before_signal_.end(), frames.begin(), frames.end());
  if (before_signal_.size() > most)
    before_signal_.erase(before_signal_.begin(),
                         before_signal_.end() - static_cast<std::ptrdiff_t>(most));
}

void Recorder::note_loss(const LostSound& loss) {
  if (phase() != RecorderPhase::recording) return;
  {
    const std::scoped_lock lock(mutex_);
    const double at =
        static_cast<double>(wav_.frames()) / static_cast<double>(settings_.layout.sample_rate);
    Overrun overrun{.at = Seconds(at), .frames = std::nullopt};
    if (loss.frames) overrun.frames = static_cast<std::int64_t>(*loss.frames);
    status_.overruns.push_back(overrun);
  }
  if (loss.frames) write_silence(*loss.frames);
}

void Recorder::tell_overruns() {
  std::vector<Overrun> all;
  {
    const std::scoped_lock lock(mutex_);
    all = status_.overruns;
  }
  if (all.size() == std::exchange(overruns_told_, all.size())) return;
  if (settings_.on_overrun) settings_.on_overrun(all);
}

void Recorder::write_silence(std::uint64_t frames) {
  const std::vector<float> silence(channels_ * silence_frames_at_once);
  while (frames > 0 && phase() == RecorderPhase::recording) {
    const std::uint64_t count = std::min(frames, silence_frames_at_once);
    write(std::span(silence).first(channels_ * count));
    frames -= count;
  }
}

void Recorder::write(std::span<const float> frames) {
  if (phase() != RecorderPhase::recording) return;
  const std::uint64_t room = most_frames_ - wav_.frames();
  const std::uint64_t count = std::min<std::uint64_t>(frames.size() / channels_, room);
  unless_it_fails([&] { wav_.write(frames.first(count * channels_)); });
  const std::scoped_lock lock(mutex_);
  status_.frames = wav_.frames();
  if (status_.phase == RecorderPhase::recording && wav_.frames() == most_frames_)
    status_.phase = RecorderPhase::full;
}

// ---- the promising thread ----

void Recorder::promise_until_told() {
  while (!told_to_stop_after(promise_every))
    if (phase() == RecorderPhase::recording) promise();
}

void Recorder::promise() {
  unless_it_fails([&] {
    require_place_and_room();
    const std::uint64_t promised = wav_.promise();
    {
      const std::scoped_lock lock(mutex_);
      status_.promised = promised;
    }
    tell_overruns();
  });
}

void Recorder::require_place_and_room() const {
  if (!wav_.is_in_place())
    throw Error(Fault::machine, settings_.file.string(),
                "is gone: its folder was deleted or moved, or the disk was taken away",
                "put it back, or begin a case in another folder");
  if (wav_.free_bytes() < settings_.room_to_leave)
    throw Error(Fault::machine, settings_.file.parent_path().string(), "the disk is nearly full",
                "free some space on the disk, then record again");
}

template <class Deed>
void Recorder::unless_it_fails(Deed deed) {
  try {
    deed();
  } catch (const Error& error) {
    const std::scoped_lock lock(mutex_);
    status_.phase = RecorderPhase::failed;
    if (!status_.failure) status_.failure = error;
  }
}

}  // namespace howl
