#pragma once

#include <condition_variable>
#include <cstddef>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/record/run_session.h"

namespace howl {

enum class SessionPhase {
  asking,     ///< whether to record the step: answer()
  beginning,  ///< opens the device, counts down, or waits for the signal
  recording,
  judging,
  judged,  ///< what to do with the take: judge()
  over,
};

/// What somebody who looks at a session sees.
struct SessionView {
  SessionPhase phase{SessionPhase::asking};
  SessionStep step;
  std::size_t number{};  ///< from 1
  std::size_t count{};
  RecordingView recording;             ///< of the take that is being recorded, or was last
  std::optional<TakeVerdict> verdict;  ///< from judged on
  std::vector<std::string> told;       ///< what went wrong since the step was asked for last
  std::size_t kept{};
  std::optional<Take> last_kept;
  std::optional<SessionOutcome> outcome;  ///< once it is over
  std::optional<Error> fault;             ///< why it ended before it should
};

/// run_session() in a thread of its own, for a window: what it asks is looked at by view() and
/// answered when somebody does; nothing here waits for the recording but the destructor.
class SessionRunner {
 public:
  /// `at_once`: the first step is recorded without being asked for. `changed` is called in the
  /// session's thread whenever there is something new to look at.
  SessionRunner(OpenSoundSystem open, RecordOrder pattern, std::optional<std::string> device,
                std::vector<SessionStep> steps, bool at_once, std::function<void()> changed = {});
  /// Breaks the session off. A take that is being recorded, or not yet judged, stays unfinished in
  /// the case, for mend_unfinished().
  ~SessionRunner();
  SessionRunner(const SessionRunner&) = delete;
  SessionRunner& operator=(const SessionRunner&) = delete;

  SessionView view() const;
  /// Answers out of turn are passed over.
  void answer(ReadyAnswer answer);
  /// Ends the take that is being recorded, or its countdown.
  void stop();
  void judge(VerdictAnswer answer);

 private:
  struct BrokenOff {};

  void run(const OpenSoundSystem& open, const RecordOrder& pattern,
           const std::optional<std::string>& device, const std::vector<SessionStep>& steps);
  SessionTalk talk();
  ReadyAnswer ask_ready(const SessionStep& step, std::size_t number, std::size_t count);
  VerdictAnswer ask_verdict(const RecordedSound& sound, const TakeVerdict& verdict);
  void show(const RecordingView& recording);
  void tell(const std::string& text);
  void keep(const AddedTake& added);
  template <class Change>
  void change(Change how);

  std::function<void()> changed_;
  mutable std::mutex mutex_;
  std::condition_variable answered_;
  SessionView view_;
  std::optional<ReadyAnswer> ready_;
  std::optional<VerdictAnswer> verdict_;
  bool at_once_;
  bool stop_{};
  bool ending_{};
  std::thread thread_;
};

}  // namespace howl
