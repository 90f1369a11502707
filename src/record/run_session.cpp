#include "src/record/run_session.h"

#include <utility>

#include "src/errors.h"

namespace howl {

namespace {

/// What became of one step.
enum class StepEnd { kept, skipped, again, session_ends };

class SessionRun {
 public:
  SessionRun(const OpenSoundSystem& open, const RecordOrder& pattern,
             std::optional<std::string> device, const SessionTalk& talk)
      : open_(&open),
        pattern_(&pattern),
        device_(std::move(device)),
        talk_(&talk),
        cylinders_(load_case(pattern.folder).cylinders) {}

  StepEnd step(const SessionStep& step, std::size_t number, std::size_t count) {
    const ReadyAnswer answer = talk_->ready(step, number, count);
    switch (answer.kind) {
      case ReadyAnswer::Kind::end:
        return StepEnd::session_ends;
      case ReadyAnswer::Kind::skip:
        return StepEnd::skipped;
      case ReadyAnswer::Kind::other_device:
        device_ = answer.device;
        return StepEnd::again;
      case ReadyAnswer::Kind::record:
        break;
    }
    auto sound = recorded(step);
    return sound ? judged(*sound) : StepEnd::again;
  }

 private:
  RecordOrder order_for(const SessionStep& step, const std::vector<SoundDevice>& devices) const {
    RecordOrder order = *pattern_;
    order.take.point = step.point;
    order.take.speed = step.speed;
    order.device = choose_input(devices, device_);
    return order;
  }

  /// None where the device does not open, which is told.
  std::optional<RecordedSound> recorded(const SessionStep& step) const {
    try {
      const auto system = (*open_)();
      RecordedSound sound = record_sound(*system, order_for(step, system->devices()), talk_->watch);
      talk_->ended();
      for (const std::string& note : sound.notes) talk_->tell(note);
      if (sound.saved_elsewhere) throw Error(sound.fault.value());
      if (sound.fault) talk_->tell(sound.fault->what());
      return sound;
    } catch (const Error& error) {
      // A case that is no longer there ends the session; a device can be tried again.
      load_case(pattern_->folder);
      talk_->tell(error.what());
      return std::nullopt;
    }
  }

  StepEnd judged(RecordedSound& sound) {
    Take take = sound.take.so_far();
    take.frames = static_cast<std::int64_t>(sound.status.frames);
    if (take.frames == 0) {
      sound.take.discard();
      return StepEnd::again;
    }
    const VerdictAnswer answer =
        talk_->judge(sound, judge_recorded(pattern_->folder, take, cylinders_));
    if (answer == VerdictAnswer::keep) return keep(sound);
    sound.take.discard();
    if (answer == VerdictAnswer::end) return StepEnd::session_ends;
    return answer == VerdictAnswer::skip ? StepEnd::skipped : StepEnd::again;
  }

  /// A take that the case refuses (too short, nothing but silence) has to be recorded again.
  StepEnd keep(RecordedSound& sound) {
    try {
      talk_->kept(sound.take.keep());
      return StepEnd::kept;
    } catch (const Error& error) {
      if (error.fault() == Fault::machine) throw;
      talk_->tell(error.what());
      sound.take.discard();
      return StepEnd::again;
    }
  }

  const OpenSoundSystem* open_;
  const RecordOrder* pattern_;
  std::optional<std::string> device_;
  const SessionTalk* talk_;
  std::optional<int> cylinders_;
};

}  // namespace

SessionOutcome run_session(const OpenSoundSystem& open, const RecordOrder& pattern,
                           std::optional<std::string> device, const std::vector<SessionStep>& steps,
                           const SessionTalk& talk) {
  SessionRun run(open, pattern, std::move(device), talk);
  SessionOutcome outcome;
  for (std::size_t i = 0; i < steps.size();) {
    const StepEnd end = run.step(steps[i], i + 1, steps.size());
    if (end == StepEnd::session_ends) {
      outcome.ended_early = true;
      return outcome;
    }
    if (end == StepEnd::again) continue;
    ++(end == StepEnd::kept ? outcome.kept : outcome.skipped);
    ++i;
  }
  return outcome;
}

}  // namespace howl
