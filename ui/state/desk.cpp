#include "ui/state/desk.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "src/case/find_take.h"
#include "src/errors.h"
#include "src/keeping/unfinished_take.h"
#include "src/profile/case_profile.h"
#include "src/reasoning/diagnose.h"
#include "src/reasoning/entered_facts.h"
#include "src/reasoning/workshop_facts.h"

namespace howl::desk {
namespace {

constexpr std::size_t kMostCompared = 5;

/// What is wrong with them is no reason not to open the case.
void read_class_files(const std::filesystem::path& folder, OpenedCase& opened) {
  try {
    opened.pins = load_pinned_notes(folder);
  } catch (const Error& error) {
    opened.pins_problem = error;
  }
  try {
    opened.truth = read_demo_truth(folder);
  } catch (const Error& error) {
    opened.truth_problem = error;
  }
}

std::optional<AnalysisRequest::Band> band_of_answer(const Answer* answer) {
  if (answer == nullptr || !answer->analysis.suspect_band) return std::nullopt;
  return answer->analysis.suspect_band->band;
}

OpenSoundSystem or_none(OpenSoundSystem open) {
  if (open) return open;
  return []() -> std::unique_ptr<SoundSystem> {
    throw Error(Fault::machine, "sound devices", "are not used here", "start the window itself");
  };
}

/// What became of recordings that were never finished, in words; none where the case cannot be
/// written, which is no reason not to look at it.
std::vector<std::string> mended(const std::filesystem::path& folder) {
  std::vector<std::string> words;
  try {
    for (const Mending& mending : mend_unfinished(folder))
      words.push_back(mending.recording + " " + mending.outcome);
  } catch (const Error& error) {
    words.push_back(fmt::format("Unfinished recordings cannot be mended: {}; {}", error.problem(),
                                error.remedy()));
  }
  return words;
}

}  // namespace

OpenedCase read_opened_case(const std::filesystem::path& folder, JobContext& context) {
  context.report(0.0, "reading the case");
  OpenedCase opened;
  opened.folder = folder;
  opened.value = load_case(folder);
  opened.profile = case_profile(folder, opened.value);
  opened.plan = plan_of(opened.value, opened.profile);
  opened.sources = possible_sources(opened.profile);
  opened.facts = facts_for(opened.profile.sources, load_workshop_facts());
  read_class_files(folder, opened);
  return opened;
}

Desk::Desk(Settings settings, std::function<void()> wake, const OpenSoundSystem& open_sound)
    : listening_(or_none(open_sound)), recording_(or_none(open_sound)), jobs_(std::move(wake)) {
  state_.settings = std::move(settings);
}

void Desk::apply(const Intention& intention) {
  std::visit([this](const auto& wish) { act(wish); }, intention);
  refresh();
}

bool Desk::poll() {
  const bool changed = jobs_.poll();
  follow_sound();
  sounds_.paint_wanted(jobs_);
  state_.jobs = jobs_.running();
  if (changed) refresh();
  return changed;
}

void Desk::finish_jobs() {
  while (jobs_.busy()) {
    jobs_.finish_all();
    poll();
  }
  poll();
}

bool Desk::upload_tiles(Textures& textures, std::size_t most) {
  if (sounds_.told_to_forget_tiles()) {
    sounds_.tiles().forget_all(textures);
    sounds_.tiles_forgotten();
  }
  return sounds_.tiles().upload(textures, most);
}

void Desk::refresh() {
  if (!state_.opened) return;
  state_.steps = step_statuses(state_.opened->value, state_.opened->profile, state_.analysis());
  if (!state_.before_after.comparison) return;
  state_.steps.at(static_cast<std::size_t>(Step::proof)) =
      compared_status(*state_.before_after.comparison);
  state_.steps.at(static_cast<std::size_t>(Step::report)).words = "before and after";
}

void Desk::tell(const std::exception& problem) {
  const auto* const error = dynamic_cast<const Error*>(&problem);
  if (error != nullptr)
    state_.notices.push_back({Notice::Kind::fault,
                              as_in_sheet(error->where() + ": " + error->problem()),
                              as_in_sheet(error->remedy())});
  else
    state_.notices.push_back({Notice::Kind::fault, problem.what(), ""});
}

// ---- a case ------------------------------------------------------------------------------------

void Desk::act(const OpenCase& wish) {
  std::error_code problem;
  std::filesystem::path folder = std::filesystem::absolute(wish.folder, problem);
  if (problem) folder = wish.folder;
  if (folder.filename() == "case.json") folder = folder.parent_path();
  state_.quiz.reset();
  sounds_for_new_case_.clear();
  open_folder(folder);
}

void Desk::open_folder(const std::filesystem::path& folder) {
  cancel_case_jobs();
  state_.sheet.reset();
  state_.opening = folder;
  case_jobs_ = {jobs_.start(
      Jobs::Lane::work, "Opening the case",
      [this, folder](JobContext& context) -> Jobs::Done {
        load_case(folder);  // what is no case is not mended
        const auto notes = mended(folder);
        auto opened = std::make_shared<OpenedCase>(read_opened_case(folder, context));
        return [this, opened, notes] {
          take_in(std::move(*opened));
          for (const std::string& note : notes)
            state_.notices.push_back({Notice::Kind::note, as_in_sheet(note), "", {}});
        };
      },
      [this](const std::exception& why) {
        state_.opening.clear();
        sounds_for_new_case_.clear();
        tell(why);
        analyse_case();
      })};
}

void Desk::cancel_case_jobs() {
  for (const JobId job : case_jobs_) jobs_.cancel(job);
  case_jobs_.clear();
  outdate_comparison();
}

void Desk::take_in(OpenedCase opened) {
  const std::optional<SessionView> session = state_.record.running;
  end_sound();
  sounds_.forget_all(jobs_);
  forget_comparison();
  state_.before_after.folder = earlier_of(state_.settings, opened.folder.string());
  state_.opening.clear();
  state_.answer.reset();
  forget_changes();
  state_.sheet.reset();
  state_.hand_over.written.clear();
  state_.request = {};
  state_.notices.clear();
  tell_of_ended_session(session);
  state_.view = {};
  if (!state_.quiz) remember_case(state_.settings, opened.folder.string());
  state_.opened = std::make_unique<OpenedCase>(std::move(opened));
  state_.view.step = state_.opened->value.takes.empty() ? Step::points : Step::where;
  if (state_.settings.class_mode) state_.view.step = Step::complaint;
  if (state_.opened->pins_problem) tell(*state_.opened->pins_problem);
  if (state_.opened->truth_problem) tell(*state_.opened->truth_problem);
  state_.record.takes_shown = !state_.opened->value.takes.empty();
  analyse_case();
  if (!sounds_for_new_case_.empty()) ask_about(std::exchange(sounds_for_new_case_, {}));
}

void Desk::act(const CloseCase& /*wish*/) {
  state_.quiz.reset();
  close_case();
}

void Desk::close_case() {
  const std::optional<SessionView> session = state_.record.running;
  end_sound();
  tell_of_ended_session(session);
  jobs_.cancel_all();
  forget_comparison();
  sounds_.forget_all(jobs_);
  state_.opened.reset();
  state_.answer.reset();
  state_.sheet.reset();
  forget_changes();
  state_.view = {};
}

void Desk::analyse_case() {
  // Another case that is on its way takes this one's place.
  if (!state_.opened || !state_.opening.empty()) return;
  cancel_case_jobs();
  state_.answer_outdated = state_.answer != nullptr;
  if (state_.opened->value.takes.empty()) {
    state_.answer.reset();
    return;
  }
  case_jobs_ = {jobs_.start(
      Jobs::Lane::work, "Analysing the takes",
      [this, folder = state_.opened->folder, value = state_.opened->value,
       profile = state_.opened->profile, request = state_.request](JobContext& context) {
        Analysis analysis = diagnose(
            folder, value, profile, request,
            [&](double fraction, std::string_view stage) { context.report(fraction, stage); });
        auto answer = std::make_shared<Answer>(answer_of(value, profile, std::move(analysis)));
        return Jobs::Done([this, answer] { take_in(std::move(*answer)); });
      },
      [this](const std::exception& why) { tell(why); })};
}

void Desk::take_in(Answer answer) {
  const bool other_band = !same_band(band_of_answer(state_.answer.get()), band_of_answer(&answer));
  state_.answer = std::make_shared<const Answer>(std::move(answer));
  state_.answer_outdated = false;
  choose_what_to_show();
  want_comparison();
  if (other_band && state_.listen.heard == Heard::band) listening_.go_on(state_, jobs_);
}

/// Begins with the howl that the answer is about, where it shows best.
void Desk::choose_what_to_show() {
  const Analysis& analysis = state_.answer->analysis;
  Selection& selection = state_.view.selection;
  if (selection.tone && find_tone(analysis, *selection.tone) == nullptr) selection.tone.reset();
  const ToneResult* const howl = strongest_howl(analysis);
  if (!selection.tone && howl != nullptr) selection.tone = howl->id;
  if (selection.take) return want_sounds();
  const ToneResult* const tone = selection.tone ? find_tone(analysis, *selection.tone) : nullptr;
  // Before a class the telling one would tell too much.
  if (tone != nullptr && !is_answer_hidden(state_))
    act(PickTake{telling_take(analysis, *tone)});
  else if (!state_.opened->value.takes.empty())
    act(PickTake{listed_takes(state_).front()});
}

void Desk::want_sounds() {
  if (!state_.opened) return;
  std::vector<std::string> wanted = state_.view.compared;
  if (state_.view.selection.take) wanted.push_back(*state_.view.selection.take);
  for (const std::string& id : wanted)
    if (const Take* take = find_take(state_.opened->value, id))
      sounds_.want(jobs_, state_.opened->folder, *take, state_.opened->value.cylinders);
}

// ---- what is looked at -------------------------------------------------------------------------

void Desk::act(const GoTo& wish) {
  act(ArmBandMark{false});
  state_.view.step = wish.step;
  if (wish.step == Step::listen) want_sounds();
  if (wish.step == Step::record) ready_to_record();
  if (wish.step == Step::proof) want_comparison();
}

void Desk::act(const GoOn& wish) {
  const int now = static_cast<int>(state_.view.step);
  const int last = static_cast<int>(kSteps) - 1;
  act(GoTo{static_cast<Step>(std::clamp(now + wish.by, 0, last))});
}

void Desk::act(const PickTone& wish) {
  const bool another = state_.view.selection.tone != wish.id || state_.view.read_order;
  state_.view.selection.tone = wish.id;
  state_.view.read_order.reset();
  if (another) listen_to_another_tone();
}

void Desk::act(const PickTake& wish) {
  Selection& selection = state_.view.selection;
  if (selection.take != wish.id) {
    // Frequencies stay, so that a band is compared from take to take; times are another take's.
    state_.view.sound.time_s.reset();
    state_.view.sound.cursor_s.reset();
  }
  state_.view.marking.reset();
  selection.take = wish.id;
  const Take* const take =
      wish.id && state_.opened ? find_take(state_.opened->value, *wish.id) : nullptr;
  if (take != nullptr) selection.point = take->point;
  state_.view.sketch_view.reset();
  std::erase(state_.view.compared, wish.id.value_or(""));
  want_sounds();
  listen_to_picked();
}

void Desk::act(const PickPoint& wish) {
  state_.view.selection.point = wish.name;
  if (wish.name && !recording_.running()) state_.record.plan.point = *wish.name;
  state_.view.sketch_view.reset();
}

void Desk::act(const ShowSketch& wish) { state_.view.sketch_view = wish.view; }

void Desk::act(const CompareTake& wish) {
  std::vector<std::string>& compared = state_.view.compared;
  if (std::erase(compared, wish.id) > 0) return;
  compared.push_back(wish.id);
  if (compared.size() > kMostCompared) compared.erase(compared.begin());
  want_sounds();
}

void Desk::act(const ShowDifference& wish) { state_.view.difference = wish.on; }
void Desk::act(const ShowSpectrumOver& wish) { state_.view.spectrum_orders = wish.orders; }

void Desk::act(const SetSound& wish) { state_.view.sound = wish.view; }

void Desk::act(const AdjustSound& wish) {
  const auto take_over = [](auto& now, const auto& wanted) {
    if (wanted) now = wanted;
  };
  SoundView& view = state_.view.sound;
  take_over(view.time_s, wish.view.time_s);
  take_over(view.frequency_hz, wish.view.frequency_hz);
  take_over(view.order, wish.view.order);
  take_over(view.cursor_s, wish.view.cursor_s);
  take_over(view.cursor_hz, wish.view.cursor_hz);
}

void Desk::act(const ShowSoundAs& wish) { state_.view.sound_plot = wish.plot; }
void Desk::act(const ReadOrder& wish) { state_.view.read_order = wish.order; }

void Desk::act(const GrabLine& wish) {
  const bool let_go = state_.view.line_grabbed && !wish.held;
  state_.view.line_grabbed = wish.held;
  if (let_go) listen_to_another_tone();
}

void Desk::act(const SetBand& wish) {
  state_.view.mark_band = false;
  state_.view.marking.reset();
  if (!state_.opened || same_band(state_.request.band, wish.band)) return;
  state_.cases_before.push_back({state_.opened->value, state_.request});
  state_.cases_after.clear();
  state_.request.band = wish.band;
  analyse_case();
}

void Desk::act(const ArmBandMark& wish) {
  state_.view.marking.reset();
  state_.view.mark_band = wish.on && can_mark_band(state_);
}

void Desk::act(const DragBandMark& wish) {
  if (can_mark_band(state_)) state_.view.marking = wish.mark;
}

/// A mere press is no band; then the next drag may still mark one.
void Desk::act(const DropBandMark& /*wish*/) {
  if (!state_.view.marking) return;
  const auto band = band_of(*state_.view.marking);
  state_.view.marking.reset();
  if (band) act(SetBand{band});
}

// ---- the window --------------------------------------------------------------------------------

void Desk::act(const SetDark& wish) { state_.settings.dark = wish.dark; }

void Desk::act(const SetScale& wish) {
  state_.settings.scale = std::clamp(wish.scale, kScales.front(), kScales.back());
}

void Desk::act(const SetClassMode& wish) {
  // Out of class the whole analysis of what is asked would be seen.
  if (!wish.on && state_.quiz) return act(StopQuiz{});
  state_.settings.class_mode = wish.on;
  state_.view.answer_hidden = true;
}
void Desk::act(const ShowPart& wish) {
  state_.view.parts.at(static_cast<std::size_t>(wish.step)) = wish.part;
  if (wish.step == Step::listen && state_.view.pin) act(PickPin{});
}
void Desk::act(const ShowKeys& wish) { state_.view.keys_shown = wish.on; }
void Desk::act(const ShowCautions& wish) { state_.view.cautions_shown = wish.on; }

void Desk::act(const ShowTest& wish) {
  const std::size_t count = state_.answer ? state_.answer->analysis.verdict.next_tests.size() : 0;
  state_.view.next_test = count == 0 ? 0 : wish.number % count;
}

void Desk::act(const CancelJob& wish) {
  jobs_.cancel(wish.id);
  if (std::ranges::find(case_jobs_, wish.id) != case_jobs_.end()) state_.opening.clear();
  if (state_.before_after.job != wish.id) return;
  state_.before_after.job.reset();
  state_.before_after.fault = "The comparison was stopped";
  state_.before_after.remedy = "choose the case again";
}

std::vector<std::size_t> notices_in_turn(const std::vector<Notice>& notices) {
  std::vector<std::size_t> places;
  for (std::size_t i = notices.size(); i > 0; --i) places.push_back(i - 1);
  std::stable_partition(places.begin(), places.end(),
                        [&](std::size_t i) { return notices[i].kind == Notice::Kind::fault; });
  return places;
}

bool notices_age(const std::vector<Notice>& notices, double seconds) {
  return std::ranges::any_of(notices, [&](const Notice& notice) {
    return notice.kind != Notice::Kind::fault &&
           (!notice.shown_at || seconds - *notice.shown_at >= kNoteSeconds);
  });
}

void Desk::act(const AgeNotices& wish) {
  std::erase_if(state_.notices, [&](Notice& notice) {
    if (notice.kind == Notice::Kind::fault) return false;
    if (!notice.shown_at) notice.shown_at = wish.seconds;
    return wish.seconds - *notice.shown_at >= kNoteSeconds;
  });
}

void Desk::act(const DismissNotice& wish) {
  if (wish.index < state_.notices.size())
    state_.notices.erase(state_.notices.begin() + static_cast<std::ptrdiff_t>(wish.index));
}

}  // namespace howl::desk
