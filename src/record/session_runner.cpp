#include "src/record/session_runner.h"
#include "src/keeping/add_take.h"

#include <utility>

namespace howl {

namespace {

/// It has asked nothing yet.
SessionView before_the_first_step() {
  SessionView view;
  view.phase = SessionPhase::beginning;
  return view;
}

}  // namespace

SessionRunner::SessionRunner(OpenSoundSystem open, RecordOrder pattern,
                             std::optional<std::string> device, std::vector<SessionStep> steps,
                             bool at_once, std::function<void()> changed)
    : changed_(std::move(changed)),
      view_(before_the_first_step()),
      at_once_(at_once),
      thread_([this, open = std::move(open), pattern = std::move(pattern),
               device = std::move(device),
               steps = std::move(steps)] { run(open, pattern, device, steps); }) {}

SessionRunner::~SessionRunner() {
  {
    const std::scoped_lock lock(mutex_);
    ending_ = true;
  }
  answered_.notify_all();
  thread_.join();
}

// ---- whoever looks -----------------------------------------------------------------------------

SessionView SessionRunner::view() const {
  const std::scoped_lock lock(mutex_);
  return view_;
}

void SessionRunner::answer(ReadyAnswer answer) {
  const std::scoped_lock lock(mutex_);
  if (view_.phase == SessionPhase::asking) ready_ = std::move(answer);
  answered_.notify_all();
}

void SessionRunner::stop() {
  const std::scoped_lock lock(mutex_);
  if (view_.phase == SessionPhase::beginning || view_.phase == SessionPhase::recording)
    stop_ = true;
}

void SessionRunner::judge(VerdictAnswer answer) {
  const std::scoped_lock lock(mutex_);
  if (view_.phase == SessionPhase::judged) verdict_ = answer;
  answered_.notify_all();
}

// ---- the session's thread ----------------------------------------------------------------------

template <class Change>
void SessionRunner::change(Change how) {
  {
    const std::scoped_lock lock(mutex_);
    how(view_);
  }
  if (changed_) changed_();
}

ReadyAnswer SessionRunner::ask_ready(const SessionStep& step, std::size_t number,
                                     std::size_t count) {
  const bool at_once = std::exchange(at_once_, false);
  change([&](SessionView& view) {
    if (view.number != number) view.told.clear();
    view.phase = at_once ? SessionPhase::beginning : SessionPhase::asking;
    view.step = step;
    view.number = number;
    view.count = count;
    view.verdict.reset();
    view.recording = {};
    stop_ = false;
    ready_.reset();
  });
  ReadyAnswer answer{.kind = ReadyAnswer::Kind::record, .device = {}};
  if (!at_once) {
    std::unique_lock lock(mutex_);
    answered_.wait(lock, [this] { return ready_ || ending_; });
    if (ending_) throw BrokenOff{};
    answer = *std::exchange(ready_, std::nullopt);
  }
  change([&](SessionView& view) {
    view.told.clear();
    if (answer.kind == ReadyAnswer::Kind::record) view.phase = SessionPhase::beginning;
  });
  return answer;
}

void SessionRunner::show(const RecordingView& recording) {
  const bool runs = recording.status.phase == RecorderPhase::recording ||
                    recording.status.phase == RecorderPhase::full;
  change([&](SessionView& view) {
    view.recording = recording;
    if (runs) view.phase = SessionPhase::recording;
  });
}

VerdictAnswer SessionRunner::ask_verdict(const RecordedSound& sound, const TakeVerdict& verdict) {
  change([&](SessionView& view) {
    view.phase = SessionPhase::judged;
    view.recording.status = sound.status;
    view.verdict = verdict;
    verdict_.reset();
  });
  std::unique_lock lock(mutex_);
  answered_.wait(lock, [this] { return verdict_ || ending_; });
  if (ending_) throw BrokenOff{};
  return *std::exchange(verdict_, std::nullopt);
}

void SessionRunner::tell(const std::string& text) {
  change([&](SessionView& view) { view.told.push_back(text); });
}

void SessionRunner::keep(const AddedTake& added) {
  change([&](SessionView& view) {
    ++view.kept;
    view.last_kept = added.take;
  });
}

SessionTalk SessionRunner::talk() {
  SessionTalk talk;
  talk.ready = [this](const SessionStep& step, std::size_t number, std::size_t count) {
    return ask_ready(step, number, count);
  };
  talk.watch.show = [this](const RecordingView& recording) { show(recording); };
  talk.watch.stop = [this] {
    const std::scoped_lock lock(mutex_);
    return stop_ || ending_;
  };
  talk.ended = [this] {
    {
      const std::scoped_lock lock(mutex_);
      if (ending_) throw BrokenOff{};
    }
    change([](SessionView& view) { view.phase = SessionPhase::judging; });
  };
  talk.judge = [this](const RecordedSound& sound, const TakeVerdict& verdict) {
    return ask_verdict(sound, verdict);
  };
  talk.kept = [this](const AddedTake& added) { keep(added); };
  talk.tell = [this](const std::string& text) { tell(text); };
  return talk;
}

void SessionRunner::run(const OpenSoundSystem& open, const RecordOrder& pattern,
                        const std::optional<std::string>& device,
                        const std::vector<SessionStep>& steps) {
  SessionOutcome outcome{.ended_early = true};
  std::optional<Error> fault;
  try {
    outcome = run_session(open, pattern, device, steps, talk());
  } catch (const BrokenOff&) {
    // Whoever looked is gone.
  } catch (const Error& error) {
    fault = error;
  } catch (const std::exception& problem) {
    fault = Error(Fault::machine, "recording", problem.what(), "try again");
  }
  change([&](SessionView& view) {
    view.phase = SessionPhase::over;
    view.outcome = outcome;
    view.fault = fault;
  });
}

}  // namespace howl
