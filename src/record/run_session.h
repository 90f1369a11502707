#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "src/keeping/add_take.h"
#include "src/record/judge_recorded.h"
#include "src/record/record_take.h"
#include "src/record/session_plan.h"
#include "src/record/sound_system.h"

namespace howl {

/// What the person says before a hold is recorded.
struct ReadyAnswer {
  enum class Kind { record, skip, other_device, end };
  Kind kind{};
  std::string device;  ///< of other_device: number or name
};

/// What the person says once it was judged.
enum class VerdictAnswer { keep, again, skip, end };

/// The person at the engine, as a session sees them.
struct SessionTalk {
  /// Asked before each hold; `number` from 1 of `count`.
  std::function<ReadyAnswer(const SessionStep&, std::size_t number, std::size_t count)> ready;
  RecordingWatch watch;
  /// A take has ended, and is going to be judged.
  std::function<void()> ended = [] {};
  std::function<VerdictAnswer(const RecordedSound&, const TakeVerdict&)> judge;
  std::function<void(const AddedTake&)> kept = [](const AddedTake&) {};
  /// Something went wrong; the session goes on.
  std::function<void(const std::string&)> tell = [](const std::string&) {};
};

struct SessionOutcome {
  std::size_t kept{};
  std::size_t skipped{};
  bool ended_early{};
};

/// Records step after step. Each take is judged as soon as it ends, and kept, recorded again, or
/// left out. `pattern` says what all have in common, `device` where from (as choose_input()
/// takes it). A device that is lost or does not open is told, and the step is asked for again.
/// Throws Error where the case cannot be written.
SessionOutcome run_session(const OpenSoundSystem& open, const RecordOrder& pattern,
                           std::optional<std::string> device, const std::vector<SessionStep>& steps,
                           const SessionTalk& talk);

}  // namespace howl
