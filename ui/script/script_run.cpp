#include "ui/script/script_run.h"

#include <fmt/format.h>

#include <cstdio>
#include <utility>

#include "ui/panels/window_frame.h"

namespace howl::desk {
namespace {

constexpr int kSettle = 3;  // frames until what was wished is drawn, and drawn again where it moved
constexpr int kDragSteps = 8;

void print(const std::string& text) {
  std::fwrite(text.data(), 1, text.size(), stdout);
  std::fflush(stdout);
}

}  // namespace

std::optional<ScriptedMouse> ScriptRun::mouse() const {
  return real_mouse_ ? std::nullopt : std::optional(mouse_);
}

void ScriptRun::fail(const std::string& why) {
  failed_ = true;
  const ScriptLine& line = lines_[next_ - 1];
  const std::string text = fmt::format("script, line {}: {}: {}\n", line.number, line.text, why);
  std::fwrite(text.data(), 1, text.size(), stderr);
}

void ScriptRun::move_along() {
  mouse_ = path_.front();
  path_.erase(path_.begin());
}

void ScriptRun::advance(Desk& desk, PlatformWindow& window, const Targets& targets, Walk& walk,
                        FrameTimes& times, bool idle) {
  desk_ = &desk;
  window_ = &window;
  targets_ = &targets;
  walk_ = &walk;
  times_ = &times;
  mouse_.wheel = 0;
  if (still_waits()) return;
  if (!path_.empty()) return move_along();
  if (settling_ > 0 && --settling_ > 0) return;
  if (waiting_ && !idle) return;
  if (std::exchange(waiting_, false)) {
    settling_ = kSettle;
    return;
  }
  if (next_ >= lines_.size() || screenshot_ || quit_) return;
  const ScriptLine& line = lines_[next_++];
  std::visit([this](const auto& wish) { act(wish); }, line.command);
}

std::optional<std::filesystem::path> ScriptRun::screenshot_now() {
  if (settling_ > 1) return std::nullopt;
  return std::exchange(screenshot_, std::nullopt);
}

void ScriptRun::act(const Intention& wish) { desk_->apply(wish); }
void ScriptRun::act(const WaitForJobs& /*wish*/) { waiting_ = true; }

void ScriptRun::act(const PressKey& wish) {
  if (!press_key(*desk_, *walk_, wish.key)) fail("the key has no meaning here");
  settling_ = kSettle;
}

ImVec2 ScriptRun::place_of(const HoverTarget& target) {
  const auto found = targets_->find(target.name);
  if (found == targets_->end()) {
    fail(target.name + " is not drawn");
    return {-1e6F, -1e6F};
  }
  const Area& area = found->second;
  return {area.x + area.w * static_cast<float>(target.across),
          area.y + area.h * static_cast<float>(target.down)};
}

void ScriptRun::act(const ClickTarget& wish) {
  const ImVec2 at = place_of({wish.name});
  path_ = {{at, false}, {at, true}, {at, true}, {at, false}, {{-1e6F, -1e6F}, false}};
}

void ScriptRun::act(const HoverTarget& wish) {
  const ImVec2 at = place_of(wish);
  path_ = {{at, false}, {at, false}};
}

void ScriptRun::act(const DragOver& wish) {
  const ImVec2 from = place_of(wish.from);
  const ImVec2 to = place_of({wish.from.name, wish.to_across, wish.to_down});
  path_ = {{from, false}, {from, true}};
  for (int i = 1; i <= kDragSteps; ++i) {
    const float share = static_cast<float>(i) / kDragSteps;
    path_.push_back({{from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)}, true});
  }
  path_.push_back({to, true});
  path_.push_back({to, false});
}

void ScriptRun::act(const TurnWheel& wish) {
  path_ = {{mouse_.at, false, static_cast<float>(wish.by)}, {mouse_.at, false}};
}

void ScriptRun::act(const UseMouse& wish) { real_mouse_ = wish.real; }

void ScriptRun::act(const SetWindowSize& wish) {
  window_->set_size(wish.width, wish.height);
  settling_ = 4 * kSettle;  // the system takes its time
}

void ScriptRun::act(const FollowSystemScale& wish) {
  system_scale_ = wish.on;
  settling_ = kSettle;
}

void ScriptRun::act(const TakeScreenshot& wish) {
  screenshot_ = wish.file;
  settling_ = kSettle;
}

void ScriptRun::act(const TellTimes& /*wish*/) { print(times_->words() + "\n"); }
void ScriptRun::act(const ForgetTimes& /*wish*/) { times_->forget(); }

void ScriptRun::act(const TellTargets& /*wish*/) {
  for (const auto& [name, area] : *targets_)
    print(
        fmt::format("{}\t{:.0f}\t{:.0f}\t{:.0f}\t{:.0f}\n", name, area.x, area.y, area.w, area.h));
}

std::optional<std::string> ScriptRun::why_not(const Expect& expectation) const {
  std::vector<std::string> names;
  for (const auto& [name, area] : *targets_) names.push_back(name);
  return unmet(expectation, desk_->state(), names);
}

void ScriptRun::act(const Expect& wish) {
  if (const auto why = why_not(wish)) fail(*why);
}

void ScriptRun::act(const Until& wish) {
  until_ = wish.expectation;
  until_begun_ = std::chrono::steady_clock::now();
}

bool ScriptRun::still_waits() {
  if (!until_) return false;
  const auto why = why_not(*until_);
  const std::chrono::duration<double> waited = std::chrono::steady_clock::now() - until_begun_;
  if (why && waited.count() < kUntilSeconds) return true;
  if (why) fail(*why);
  until_.reset();
  return false;
}

void ScriptRun::act(const Quit& /*wish*/) { quit_ = true; }

}  // namespace howl::desk
