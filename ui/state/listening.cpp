#include "ui/state/listening.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "src/analysis/like_takes.h"
#include "src/case/find_take.h"
#include "src/errors.h"
#include "src/listen/same_speed.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr double kReadyBeforeStart = 0.25;  // s that are prepared before it begins
constexpr double kMostMatchDb = 40;
constexpr double kLikeSweepEnds = 0.10;  // as for comparable takes (like_takes.h)

bool near(double a, double b, double share) { return std::abs(a / b - 1) <= share; }

bool at_same_speed(const TakeResult& a, const TakeResult& b) {
  if (a.engine_off || b.engine_off) return a.engine_off == b.engine_off;
  const bool both_hold = near(a.rpm_max, a.rpm_min, 0.06) && near(b.rpm_max, b.rpm_min, 0.06);
  if (both_hold) return near(a.rpm_min + a.rpm_max, b.rpm_min + b.rpm_max, kLikeHold);
  return near(a.rpm_min, b.rpm_min, kLikeSweepEnds) && near(a.rpm_max, b.rpm_max, kLikeSweepEnds);
}

double median_pitch(const ToneResult& tone, const std::string& take) {
  std::vector<double> seen;
  for (const TrackPoint& point : tone.track)
    if (point.take == take) seen.push_back(point.frequency_hz);
  return seen.empty() ? 0.5 * (tone.frequency_hz.low + tone.frequency_hz.high) : median(seen);
}

std::optional<double> match_db(double power, double other) {
  if (power <= 0 || other <= 0) return std::nullopt;
  return std::clamp(10 * std::log10(power / other), -kMostMatchDb, kMostMatchDb);
}

float gain_of(const ListenState& state) {
  if (!state.matched || !state.match_db) return 1.0F;
  return static_cast<float>(std::pow(10.0, *state.match_db / 20.0));
}

}  // namespace

// ---- what can be heard -------------------------------------------------------------------------

std::optional<ToneToHear> tone_to_hear(const DeskState& state) {
  ToneToHear heard;
  const bool hidden = is_answer_hidden(state);
  if (const auto order = state.view.read_order) {
    heard.request.orders = {Order(*order)};
    heard.words = hidden ? "the order line" : fmt::format("order {:.2f}", *order);
    return heard;
  }
  const Selection& selection = state.view.selection;
  if (state.analysis() == nullptr || !selection.tone || !selection.take) return std::nullopt;
  const ToneResult* const tone = find_tone(*state.analysis(), *selection.tone);
  const TakeResult* const take = find_take(*state.analysis(), *selection.take);
  if (tone == nullptr || take == nullptr) return std::nullopt;
  if (tone->order && !take->engine_off) {
    heard.request.orders = {Order(*tone->order)};
    heard.words = fmt::format("order {:.2f}", *tone->order);
  } else {
    const double hz = median_pitch(*tone, *selection.take);
    heard.request.pitches = {Hertz(hz)};
    heard.words = fmt::format("{:.0f} Hz", hz);
  }
  if (hidden) heard.words = "the tone";
  return heard;
}

std::vector<std::string> takes_at_same_speed(const DeskState& state) {
  std::vector<std::string> all;
  const Analysis* const analysis = state.analysis();
  const auto& picked = state.view.selection.take;
  const TakeResult* const take = analysis && picked ? find_take(*analysis, *picked) : nullptr;
  if (take == nullptr) return all;
  for (const std::string& id : listed_takes(state)) {
    const TakeResult* const other = find_take(*analysis, id);
    if (other != nullptr && other->point != take->point && other->load == take->load &&
        at_same_speed(*take, *other))
      all.push_back(id);
  }
  return all;
}

bool can_hear(const DeskState& state, Heard heard) {
  if (heard == Heard::take) return true;
  if (heard == Heard::band) return state.analysis() != nullptr && state.analysis()->suspect_band;
  return tone_to_hear(state).has_value();
}

Heard next_to_hear(const DeskState& state) {
  int next = static_cast<int>(state.listen.heard);
  do {
    next = (next + 1) % 4;
  } while (!can_hear(state, static_cast<Heard>(next)));
  return static_cast<Heard>(next);
}

std::string heard_words(const DeskState& state) {
  const ListenState& listen = state.listen;
  std::string words = "the whole sound";
  if (listen.heard == Heard::band) words = "the suspect band";
  if (const auto tone = tone_to_hear(state)) {
    if (listen.heard == Heard::tone) words = tone->words + " alone";
    if (listen.heard == Heard::without) words = "all but " + tone->words;
  }
  if (listen.slowness == 2) words += ", half speed";
  if (listen.slowness == 4) words += ", quarter speed";
  return words;
}

std::string playing_words(const DeskState& state) {
  const ListenState& listen = state.listen;
  std::string words = fmt::format("{}, {:.1f} … {:.1f} s", heard_words(state), listen.range_s.low,
                                  listen.range_s.high);
  if (listen.shortened) words += " (no more at once)";
  if (!listen.other || !listen.match_db) return words;
  if (is_answer_hidden(state))  // by how much one is louder tells where it is loud
    return words + (listen.matched ? " · A and B made equally loud" : " · true levels");
  const double db = std::abs(*listen.match_db);
  const bool softer = *listen.match_db > 0;
  if (listen.matched)
    return words + fmt::format(" · B {}{:.1f} dB, to match", softer ? "+" : "−", db);
  return words + fmt::format(" · true levels: B is {:.1f} dB {}", db, softer ? "softer" : "louder");
}

// ---- preparing ---------------------------------------------------------------------------------

struct Listening::Wanted {
  std::filesystem::path folder;
  std::optional<int> cylinders;
  std::array<std::optional<Take>, 2> takes;
  HearingRequest request;
  std::optional<AnalysisRequest::Band> band;
  bool on_other{};
  bool matched{};
  bool afresh{};  ///< nothing plays yet
};

/// Shared by a job and the window; what the job may do to the player, it does under the lock, and
/// only while nobody has turned to something else.
struct Listening::Turn {
  std::mutex mutex;
  bool over{};
  bool begun{};
  bool on_other{};
  std::array<SoundPointer, 2> sounds;
  std::array<Interval, 2> ranges;
  std::optional<double> match_db;
  std::optional<Error> fault;
};

Listening::Listening(OpenSoundSystem open) : player_(std::make_shared<Player>(std::move(open))) {}

std::optional<Listening::Wanted> Listening::wanted_of(DeskState& state) {
  ListenState& listen = state.listen;
  const auto& picked = state.view.selection.take;
  if (!state.opened || !picked) return std::nullopt;
  const Take* const take = find_take(state.opened->value, *picked);
  if (take == nullptr) return std::nullopt;
  if (!can_hear(state, listen.heard)) listen.heard = Heard::take;  // its tone is picked no more
  Wanted wanted;
  wanted.folder = state.opened->folder;
  wanted.cylinders = state.opened->value.cylinders;
  wanted.takes[0] = *take;
  if (listen.other)
    if (const Take* const other = find_take(state.opened->value, *listen.other))
      wanted.takes[1] = *other;
  if (state.analysis() != nullptr && state.analysis()->suspect_band)
    wanted.band = state.analysis()->suspect_band->band;
  const double seconds = seconds_of(*take);
  const Interval shown = state.view.sound.time_s.value_or(Interval{0, seconds});
  wanted.request.heard = listen.heard;
  wanted.request.slowness = listen.slowness;
  wanted.request.range_s = heard_range(shown, seconds, listen.slowness);
  wanted.request.band = wanted.band;
  if (const auto tone = tone_to_hear(state)) wanted.request.tone = tone->request;
  wanted.on_other = listen.on_other && wanted.takes[1];
  wanted.matched = listen.matched;
  listen.shortened = wanted.request.range_s.width() < 0.99 * shown.width();
  return wanted;
}

void Listening::prepare(const Wanted& wanted, Player& player, Turn& turn, JobContext& context) {
  HearingRequest request = wanted.request;
  request.rate = player.open_device();
  context.throw_if_cancelled();
  std::array<Interval, 2> ranges{request.range_s, request.range_s};
  std::optional<double> match;
  if (wanted.takes[1]) {
    context.report(0, "comparing two points");
    std::vector<std::string> ignored;
    const auto opened = [&](std::size_t side) {
      return open_take(wanted.folder, *wanted.takes.at(side), wanted.cylinders, ignored);
    };
    const RangePair pair = same_speed_ranges(opened(0), request.range_s, opened(1));
    ranges = {pair.take, pair.other};
    const auto power = [&](std::size_t side) {
      return heard_power(wanted.folder, *wanted.takes.at(side), wanted.cylinders, ranges.at(side),
                         wanted.band);
    };
    match = match_db(power(0), power(1));
  }
  {
    const std::scoped_lock lock(turn.mutex);
    turn.ranges = ranges;
    turn.match_db = match;
  }
  const std::size_t first = wanted.on_other ? 1 : 0;
  for (const std::size_t side : {first, 1 - first}) {
    if (!wanted.takes.at(side)) continue;
    request.range_s = ranges.at(side);
    const auto sound = std::make_shared<PreparedSound>(heard_samples(request), request.rate,
                                                       static_cast<double>(request.slowness));
    if (side == 1 && wanted.matched && match)
      sound->gain = static_cast<float>(std::pow(10.0, *match / 20.0));
    {
      const std::scoped_lock lock(turn.mutex);
      turn.sounds.at(side) = sound;
    }
    // Begins as soon as there is enough of it, where something else plays at the place of that.
    const auto begin_if_ready = [&](bool complete) {
      const std::scoped_lock lock(turn.mutex);
      if (turn.over || turn.begun || side != first) return;
      const PlayerStatus now = player.status();
      const double from = now.playing && !wanted.afresh ? now.at : 0.0;
      const std::size_t needed = sound->sample_at(from + kReadyBeforeStart);
      if (!complete && sound->ready() < needed) return;
      const bool goes_on = now.playing && !wanted.afresh;
      const SoundPointer& heard =
          turn.on_other && turn.sounds[1] ? turn.sounds[1] : turn.sounds.at(first);
      goes_on ? player.change_to(heard) : player.play(heard, 0.0);
      turn.begun = true;
    };
    render_heard(wanted.folder, *wanted.takes.at(side), wanted.cylinders, request,
                 [&](std::span<const float> samples) {
                   context.throw_if_cancelled();
                   sound->append(samples);
                   begin_if_ready(false);
                 });
    sound->complete();
    begin_if_ready(true);
  }
}

void Listening::hear(DeskState& state, Jobs& jobs) {
  ListenState& listen = state.listen;
  listen.fault.clear();
  listen.remedy.clear();
  auto wanted = wanted_of(state);
  if (!wanted) return;
  if (turn_) {
    const std::scoped_lock lock(turn_->mutex);
    turn_->over = true;
  }
  jobs.cancel(job_);
  wanted->afresh = !listen.wanted;
  listen.wanted = true;
  listen.playing_take = wanted->takes[0]->id;
  listen.range_s = wanted->request.range_s;
  auto turn = std::make_shared<Turn>();
  turn->ranges = {listen.range_s, listen.range_s};
  turn->on_other = wanted->on_other;
  turn_ = turn;
  job_ = jobs.start(Jobs::Lane::sound, "Preparing the sound",
                    [wanted = *wanted, turn, player = player_](JobContext& context) -> Jobs::Done {
                      try {
                        prepare(wanted, *player, *turn, context);
                      } catch (const Error& error) {
                        const std::scoped_lock lock(turn->mutex);
                        turn->fault = error;
                      }
                      return {};
                    },
                    {});
}

void Listening::go_on(DeskState& state, Jobs& jobs) {
  if (state.listen.wanted) hear(state, jobs);
}

void Listening::stop(ListenState& state, Jobs& jobs) {
  if (turn_) {
    const std::scoped_lock lock(turn_->mutex);
    turn_->over = true;
  }
  turn_.reset();
  jobs.cancel(job_);
  player_->stop();
  state.wanted = false;
}

void Listening::seek(const ListenState& state, double take_seconds) {
  player_->seek(std::clamp(take_seconds - state.range_s.low, 0.0, state.range_s.width()));
}

void Listening::switch_sides(DeskState& state, Jobs& jobs) {
  if (!state.listen.wanted) return;
  if (turn_) {
    const std::scoped_lock lock(turn_->mutex);
    turn_->on_other = state.listen.on_other;
    const SoundPointer& sound = turn_->sounds.at(state.listen.on_other ? 1 : 0);
    if (sound && sound->is_complete()) return player_->change_to(sound);
  }
  hear(state, jobs);
}

void Listening::set_match(const ListenState& state) {
  if (!turn_) return;
  const std::scoped_lock lock(turn_->mutex);
  if (turn_->sounds[1]) turn_->sounds[1]->gain = gain_of(state);
}

void Listening::follow(DeskState& state) {
  ListenState& listen = state.listen;
  if (!listen.wanted && !listen.playing) return;
  const PlayerStatus now = player_->status();
  bool begun = false;
  if (turn_) {
    const std::scoped_lock lock(turn_->mutex);
    begun = turn_->begun;
    listen.match_db = turn_->match_db;
    listen.range_s = turn_->ranges[0];
    if (const SoundPointer& sound = turn_->sounds.at(listen.on_other && turn_->sounds[1] ? 1 : 0))
      listen.prepared = static_cast<double>(sound->ready()) /
                        static_cast<double>(std::max<std::size_t>(1, sound->length()));
    if (turn_->fault) {
      listen.fault = turn_->fault->where() + ": " + turn_->fault->problem();
      listen.remedy = as_in_sheet(turn_->fault->remedy());
      listen.wanted = false;
    }
  }
  if (const auto fault = player_->take_fault()) {
    listen.fault = fault->where() + ": " + fault->problem();
    listen.remedy = as_in_sheet(fault->remedy());
    listen.wanted = false;
  }
  if (!listen.wanted && now.playing && !listen.fault.empty()) player_->stop();
  if (listen.wanted && begun && !now.playing) listen.wanted = false;  // it has ended
  listen.playing = now.playing;
  listen.waits = listen.wanted && (now.waits || !begun);
  listen.held_down = now.playing && now.held_down;
  listen.at_s.reset();
  if (now.playing && listen.wanted) {
    listen.at_s = listen.range_s.low + now.heard_at;
    state.view.sound.cursor_s = listen.at_s;
  }
}

}  // namespace howl::desk
