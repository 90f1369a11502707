#include "ui/state/recording.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "src/errors.h"
#include "src/record/gain_hint.h"
#include "src/report/scale.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr double kRate = 48'000;

SpeedSource source_of(const RecordPlan& plan) {
  switch (plan.speed) {
    case SpeedKnown::entered:
      return EnteredSpeed{Rpm(plan.rpm)};
    case SpeedKnown::by_sound:
      return SpeedInSound{};
    case SpeedKnown::engine_off:
      return EngineOff{};
  }
  return EngineOff{};
}

/// What stands needs no note of it: as with a take that is added, a road speed is told if it has
/// one.
std::optional<double> road_of(const RecordPlan& plan) {
  return plan.road_kmh > 0 ? std::optional(plan.road_kmh) : std::nullopt;
}

RecordOrder pattern_of(const RecordPlan& plan, const DeskState& state) {
  RecordOrder order;
  order.folder = state.opened->folder;
  order.take.load = plan.load;
  order.take.road_speed_kmh = road_of(plan);
  order.take.background = plan.background;
  order.take.sample_rate = kRate;
  order.take.channels = 1;
  order.make_point = true;
  if (plan.seconds > 0) order.length = Seconds(plan.seconds);
  order.countdown = Seconds(plan.countdown);
  return order;
}

std::string takes_recorded(std::size_t count) {
  if (count == 0) return "Nothing was recorded";
  return count == 1 ? "1 take was recorded" : fmt::format("{} takes were recorded", count);
}

/// Remedies name options of the command line; here there are buttons.
std::string without_options(std::string text) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 5> swaps{
      {{"see 'howlpoint devices', and ", ""},
       {"see 'howlpoint devices'", "press 'Look again'"},
       {"another with --device", "another microphone"},
       {"another --device", "another microphone"},
       {"; add it to a case with 'add'", ""}}};
  for (const auto& [from, to] : swaps)
    if (const auto at = text.find(from); at != std::string::npos) text.replace(at, from.size(), to);
  return as_in_sheet(std::move(text));
}

std::string end_words(const SessionView& view) {
  std::string words = takes_recorded(view.kept);
  if (view.outcome && view.outcome->skipped > 0)
    words += fmt::format(", {} skipped", view.outcome->skipped);
  return words;
}

}  // namespace

RecordPlan adjusted(RecordPlan plan, const AdjustPlan& by) {
  if (by.device) plan.device = by.device->empty() ? std::nullopt : by.device;
  if (by.point) plan.point = *by.point;
  if (by.speed) plan.speed = *by.speed;
  if (by.rpm) plan.rpm = std::clamp(*by.rpm, kLeastRpm, kMostRpm);
  if (by.road_kmh) plan.road_kmh = std::clamp(*by.road_kmh, 0.0, kMostRoad);
  if (by.load) {
    if (by.load->second.empty())
      plan.load.erase(by.load->first);
    else
      plan.load[by.load->first] = by.load->second;
  }
  if (by.background) plan.background = *by.background;
  if (by.seconds) plan.seconds = std::clamp(*by.seconds, 0.0, 600.0);
  if (by.countdown) plan.countdown = std::clamp(*by.countdown, 0.0, 60.0);
  if (by.session) plan.session = *by.session;
  if (by.toggle_hold) {
    const double hold = *by.toggle_hold == 0 ? 0 : std::clamp(*by.toggle_hold, kLeastRpm, kMostRpm);
    if (std::erase(plan.holds, hold) == 0 && plan.holds.size() < kMostHolds)
      plan.holds.push_back(hold);
    std::ranges::sort(plan.holds);
  }
  return plan;
}

std::vector<std::string> cautions_of(const RecordPlan& plan) {
  return recording_cautions(plan.load, road_of(plan));
}

std::vector<SessionStep> steps_of(const RecordPlan& plan, const DeskState& state) {
  if (!state.opened) return {};
  if (!plan.session) {
    if (plan.point.empty()) return {};
    return {{.point = plan.point, .speed = source_of(plan)}};
  }
  std::vector<std::string> points;
  for (const ProbePoint& point : all_points(state.opened->value, state.opened->profile))
    points.push_back(point.name);
  std::vector<Rpm> holds;
  for (const double hold : plan.holds) holds.emplace_back(hold);
  return steps_left(session_steps(points, holds), state.opened->value,
                    pattern_of(plan, state).take);
}

SignalWords signal_words(const MeterReading& meter) {
  using Kind = SignalWords::Kind;
  if (meter.highest <= 0) return {Kind::none, "No signal"};
  if (meter.clipped > 0) return {Kind::loud, "Clipped"};
  if (!gain_hint(meter)) return {Kind::good, "Good"};
  return meter.highest > 0.3 ? SignalWords{Kind::loud, "Too loud"}
                             : SignalWords{Kind::quiet, "Too quiet"};
}

std::optional<double> typed_speed(const std::string& digits) {
  double rpm{};
  const auto [end, problem] = std::from_chars(digits.data(), digits.data() + digits.size(), rpm);
  if (problem != std::errc{} || end != digits.data() + digits.size()) return std::nullopt;
  return rpm >= kLeastRpm && rpm <= kMostRpm ? std::optional(rpm) : std::nullopt;
}

std::string_view recording_key(const RecordState& record) {
  if (!record.running) return "no";
  switch (record.running->phase) {
    case SessionPhase::asking:
      return "asking";
    case SessionPhase::beginning:
      return "beginning";
    case SessionPhase::recording:
      return "recording";
    case SessionPhase::judging:
      return "judging";
    case SessionPhase::judged:
      return "judged";
    case SessionPhase::over:
      break;
  }
  return "no";
}

std::string running_words(const RecordState& record) {
  if (!record.running) return "";
  const SessionView& session = *record.running;
  if (session.count < 2) return "recording";
  return fmt::format("session: {} of {}", std::max<std::size_t>(1, session.number), session.count);
}

SessionView in_window(SessionView session) {
  for (std::string& text : session.told) text = without_options(std::move(text));
  if (session.verdict)
    for (std::string& text : session.verdict->faults) text = without_options(std::move(text));
  return session;
}

std::string ended_words(const SessionView& session) {
  std::string words =
      session.count < 2
          ? "The recording was ended, as its case was closed"
          : fmt::format(
                "The session was ended at {} of {}, as its case was closed; "
                "{} kept",
                std::max<std::size_t>(1, session.number), session.count,
                session.kept == 1 ? "1 take was" : fmt::format("{} takes were", session.kept));
  if (session.phase != SessionPhase::asking)
    words += ". The take that was not judged is looked at when the case is opened again";
  return words;
}

std::string hold_words(const SpeedSource& speed) {
  if (const auto* entered = std::get_if<EnteredSpeed>(&speed))
    return picture::format_number(entered->speed.value, 0) + " rpm";
  return std::holds_alternative<EngineOff>(speed) ? "engine off" : "speed by the sound";
}

// ---- recording ---------------------------------------------------------------------------------

void RecordingDesk::begin(DeskState& state, std::function<void()> free_devices) {
  RecordState& record = state.record;
  std::vector<SessionStep> steps = steps_of(record.plan, state);
  if (runner_ || steps.empty()) return;
  record.ended.clear();
  record.ended_fault.clear();
  kept_ = 0;
  const OpenSoundSystem open = [open = open_, free = std::move(free_devices)] {
    if (free) free();
    return open();
  };
  runner_ =
      std::make_unique<SessionRunner>(open, pattern_of(record.plan, state), record.plan.device,
                                      std::move(steps), !record.plan.session);
  follow(state);
}

void RecordingDesk::answer(const ReadyAnswer& answer) {
  if (runner_) runner_->answer(answer);
}
void RecordingDesk::stop() {
  if (runner_) runner_->stop();
}
void RecordingDesk::judge(VerdictAnswer answer) {
  if (runner_) runner_->judge(answer);
}

void RecordingDesk::break_off(DeskState& state) {
  runner_.reset();
  state.record.running.reset();
}

bool RecordingDesk::follow(DeskState& state) {
  if (!runner_) return false;
  RecordState& record = state.record;
  record.running = in_window(runner_->view());
  const SessionView& view = *record.running;
  record.hint.reset();
  if (!view.recording.status.meters.empty())
    record.hint = gain_hint(view.recording.status.meters.front());
  const bool another = view.kept > kept_;
  kept_ = view.kept;
  if (view.phase == SessionPhase::over) {
    record.ended = end_words(view);
    if (view.fault) record.ended_fault = without_options(view.fault->what());
    break_off(state);
  }
  return another;
}

void RecordingDesk::list_devices(DeskState& state, Jobs& jobs,
                                 std::function<void()> free_devices) const {
  if (runner_) return;
  jobs.start(
      Jobs::Lane::sound, "Asking for sound devices",
      [&record = state.record, open = open_,
       free = std::move(free_devices)](JobContext& /*context*/) -> Jobs::Done {
        if (free) free();
        std::vector<DeviceChoice> found;
        for (const SoundDevice& device : open()->devices())
          if (device.inputs > 0) found.push_back({device.name, device.usual_input, device.inputs});
        return [&record, found] {
          record.devices = found;
          record.devices_known = true;
          record.device_fault = found.empty() ? "No microphone was found" : "";
          record.device_remedy =
              found.empty() ? "Plug one in, check that no other program holds it, and look again"
                            : "";
        };
      },
      [&record = state.record](const std::exception& why) {
        record.devices_known = true;
        record.device_fault = without_options(why.what());
        record.device_remedy = "Check that the sound system runs, and look again";
      });
}

}  // namespace howl::desk
