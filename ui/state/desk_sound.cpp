// What Desk does of listening and recording.

#include <algorithm>

#include "ui/state/desk.h"

namespace howl::desk {

bool Desk::lively() const {
  return state_.listen.wanted || state_.listen.playing || state_.record.running;
}

void Desk::follow_sound() {
  listening_.follow(state_);
  if (recording_.follow(state_)) read_again();
}

/// The same case with what was recorded into it meanwhile; what is looked at stays.
void Desk::read_again() {
  if (!state_.opened) return;
  jobs_.start(
      Jobs::Lane::store, "Reading the case again",
      [this, folder = state_.opened->folder](JobContext& context) -> Jobs::Done {
        auto read = std::make_shared<OpenedCase>(read_opened_case(folder, context));
        return [this, read] {
          if (!state_.opened || state_.opened->folder != read->folder) return;
          forget_changes();
          OpenedCase& opened = *state_.opened;
          Case value = std::move(read->value);
          read->value = std::move(opened.value);
          opened = std::move(*read);
          changed(std::move(value));
        };
      },
      [this](const std::exception& why) { tell(why); });
}

void Desk::end_sound() {
  listening_.stop(state_.listen, jobs_);
  state_.listen.playing = false;
  state_.listen.other.reset();
  state_.listen.on_other = false;
  recording_.break_off(state_);
  RecordState& record = state_.record;
  record.ended.clear();
  record.ended_fault.clear();
  record.plan.point.clear();
  record.plan.load.clear();
  record.plan.road_kmh = 0;
  record.takes_shown = false;
}

/// A session that another case, or none, has taken the place of.
void Desk::tell_of_ended_session(const std::optional<SessionView>& session) {
  if (!session) return;
  const std::string words = ended_words(*session);
  state_.notices.push_back({Notice::Kind::note, words, "", {}});
}

// ---- listening ---------------------------------------------------------------------------------

void Desk::act(const PlaySound& wish) {
  // What is heard, and why not, is to be seen where the player is one part of several.
  if (wish.on) state_.view.parts.at(static_cast<std::size_t>(Step::listen)) = kPlayerPart;
  if (!wish.on) return listening_.stop(state_.listen, jobs_);
  if (recording_.running()) return;
  listening_.set_loop(state_.listen.loop);
  listening_.set_volume(state_.settings.volume_db);
  listening_.hear(state_, jobs_);
}

void Desk::act(const SeekSound& wish) {
  if (state_.listen.playing) listening_.seek(state_.listen, wish.seconds);
}

void Desk::act(const LoopSound& wish) {
  state_.listen.loop = wish.on;
  listening_.set_loop(wish.on);
}

void Desk::act(const HearAs& wish) {
  if (!can_hear(state_, wish.heard) || state_.listen.heard == wish.heard) return;
  state_.listen.heard = wish.heard;
  listening_.go_on(state_, jobs_);
}

void Desk::act(const SlowSound& wish) {
  if (wish.by != 1 && wish.by != 2 && wish.by != 4) return;
  if (state_.listen.slowness == wish.by) return;
  state_.listen.slowness = wish.by;
  listening_.go_on(state_, jobs_);
}

void Desk::act(const HearAgainst& wish) {
  ListenState& listen = state_.listen;
  if (listen.other == wish.take) return;
  const auto possible = takes_at_same_speed(state_);
  if (wish.take && std::ranges::find(possible, *wish.take) == possible.end()) return;
  listen.other = wish.take;
  if (!wish.take) listen.on_other = false;
  listen.match_db.reset();
  listening_.go_on(state_, jobs_);
}

void Desk::act(const HearOther& wish) {
  if (!state_.listen.other || state_.listen.on_other == wish.on) return;
  state_.listen.on_other = wish.on;
  listening_.switch_sides(state_, jobs_);
}

void Desk::act(const MatchLevels& wish) {
  state_.listen.matched = wish.on;
  listening_.set_match(state_.listen);
}

void Desk::act(const SetVolume& wish) {
  state_.settings.volume_db = std::clamp(wish.db, kSoftest, kLoudest);
  listening_.set_volume(state_.settings.volume_db);
}

/// Another take is looked at: it is listened to as the one before.
void Desk::listen_to_picked() {
  ListenState& listen = state_.listen;
  if (listen.other) {
    const auto possible = takes_at_same_speed(state_);
    if (std::ranges::find(possible, *listen.other) == possible.end()) {
      listen.other.reset();
      listen.on_other = false;
    }
  }
  listening_.go_on(state_, jobs_);
}

void Desk::listen_to_another_tone() {
  const Heard heard = state_.listen.heard;
  if (heard == Heard::tone || heard == Heard::without) listening_.go_on(state_, jobs_);
}

// ---- recording ---------------------------------------------------------------------------------

/// Chooses what is likely wanted: the picked point, or the first that nobody has probed.
void Desk::ready_to_record() {
  RecordState& record = state_.record;
  if (!record.devices_known || record.devices.empty()) act(ListDevices{});
  if (!state_.opened || !record.plan.point.empty()) return;
  const auto points = all_points(state_.opened->value, state_.opened->profile);
  if (points.empty()) return;
  record.plan.point =
      next_unprobed(state_.opened->value, state_.opened->profile).value_or(points.front().name);
}

void Desk::act(const RecordPoint& wish) {
  if (!state_.opened) return;
  state_.view.cautions_shown = false;
  if (!state_.record.running) {
    state_.record.takes_shown = false;
    if (!wish.point.empty()) {
      state_.record.plan.session = false;  // this one point
      act(PickPoint{wish.point});
    }
  }
  act(GoTo{Step::record});
}

void Desk::act(const PlanTakes& wish) {
  state_.record.plan = adjusted(state_.record.plan, wish.change);
  if (wish.change.point) state_.view.selection.point = *wish.change.point;
}

void Desk::act(const ListDevices& /*wish*/) {
  recording_.list_devices(state_, jobs_, listening_.freeing());
}

void Desk::act(const ShowTakes& wish) { state_.record.takes_shown = wish.on; }

void Desk::act(const TypeSpeed& wish) {
  RecordState& record = state_.record;
  if (!record.pad_shown) record.typed.clear();
  record.pad_shown = wish.shown;
  record.typed = wish.digits.substr(0, 5);
}

void Desk::act(const TakeTypedSpeed& /*wish*/) {
  RecordState& record = state_.record;
  const auto rpm = typed_speed(record.typed);
  if (!record.pad_shown || !rpm) return;
  record.plan.rpm = *rpm;
  record.pad_shown = false;
}

void Desk::act(const BeginRecording& /*wish*/) {
  if (!state_.opened) return;
  if (state_.record.has_no_device()) {  // one may have been plugged in meanwhile
    state_.record.takes_shown = false;
    return act(ListDevices{});
  }
  listening_.stop(state_.listen, jobs_);
  state_.record.pad_shown = false;
  state_.record.takes_shown = false;
  recording_.begin(state_, listening_.freeing());
}

void Desk::act(const AnswerStep& wish) {
  ReadyAnswer answer = wish.answer;
  if (answer.kind == ReadyAnswer::Kind::other_device)
    state_.record.plan.device = answer.device.empty() ? std::nullopt : std::optional(answer.device);
  recording_.answer(answer);
}
void Desk::act(const StopRecording& /*wish*/) { recording_.stop(); }
void Desk::act(const JudgeTake& wish) { recording_.judge(wish.answer); }

}  // namespace howl::desk
