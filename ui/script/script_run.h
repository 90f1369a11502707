#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "ui/look/frame.h"
#include "ui/platform/window.h"
#include "ui/script/frame_times.h"
#include "ui/script/script.h"
#include "ui/state/desk.h"

namespace howl::desk {

/// Works a script off, some of it a frame. The window asks it before each frame what to do.
class ScriptRun {
 public:
  explicit ScriptRun(std::vector<ScriptLine> lines) : lines_(std::move(lines)) {}

  bool over() const { return next_ >= lines_.size() && settling_ == 0 && !screenshot_ && !until_; }
  /// Whether it goes on only once a job has got further: nothing is gained by drawing without a
  /// pause.
  bool waits_for_jobs() const { return (waiting_ || until_) && settling_ == 0 && path_.empty(); }
  bool failed() const { return failed_; }
  bool wants_to_quit() const { return quit_; }
  /// None: the real mouse counts.
  std::optional<ScriptedMouse> mouse() const;

  /// Before a frame. `idle`: no job runs, and every tile is there.
  void advance(Desk& desk, PlatformWindow& window, const Targets& targets, Walk& walk,
               FrameTimes& times, bool idle);
  /// The picture that this frame is to be saved as.
  std::optional<std::filesystem::path> screenshot_now();
  bool follows_system_scale() const { return system_scale_; }

 private:
  void act(const Intention& wish);
  void act(const WaitForJobs& wish);
  void act(const PressKey& wish);
  void act(const ClickTarget& wish);
  void act(const HoverTarget& wish);
  void act(const DragOver& wish);
  void act(const TurnWheel& wish);
  void act(const UseMouse& wish);
  void act(const SetWindowSize& wish);
  void act(const FollowSystemScale& wish);
  void act(const TakeScreenshot& wish);
  void act(const TellTimes& wish);
  void act(const TellTargets& wish);
  void act(const ForgetTimes& wish);
  void act(const Expect& wish);
  void act(const Until& wish);
  void act(const Quit& wish);

  std::optional<std::string> why_not(const Expect& expectation) const;
  bool still_waits();
  ImVec2 place_of(const HoverTarget& target);
  void fail(const std::string& why);
  void move_along();

  std::vector<ScriptLine> lines_;
  std::size_t next_{};
  bool failed_{};
  bool quit_{};
  bool waiting_{};
  std::optional<Expect> until_;
  std::chrono::steady_clock::time_point until_begun_{};
  bool real_mouse_{};
  bool system_scale_{};
  int settling_{};  ///< frames until the next line
  ScriptedMouse mouse_;
  std::vector<ScriptedMouse> path_;  ///< where the mouse goes, one place a frame
  std::optional<std::filesystem::path> screenshot_;

  // What act() works on, set by advance().
  Desk* desk_{};
  PlatformWindow* window_{};
  const Targets* targets_{};
  Walk* walk_{};
  FrameTimes* times_{};
};

}  // namespace howl::desk
