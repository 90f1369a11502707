#include <algorithm>
#include <exception>
#include <memory>
#include <string>
#include <system_error>
#include <utility>

#include "src/case/find_take.h"
#include "src/errors.h"
#include "src/reasoning/diagnose.h"
#include "ui/state/desk.h"

namespace howl::desk {

namespace fs = std::filesystem;

namespace {

std::string plain_path(fs::path folder) {
  folder = folder.lexically_normal();
  if (folder.filename() == "case.json") folder = folder.parent_path();
  if (!folder.has_filename() && folder.has_parent_path()) folder = folder.parent_path();
  return folder.string();
}

/// What can be said before anything is read.
void require_earlier(const fs::path& folder, const fs::path& now) {
  std::error_code ignored;
  if (!fs::exists(folder / "case.json", ignored))
    throw Error(Fault::file, folder.string(), "there is no case in this folder",
                "choose the folder of the case from before the repair");
  if (fs::equivalent(folder, now, ignored))
    throw Error(Fault::command, folder.string(), "this is the case that is open",
                "choose the case from before the repair");
}

Progress part_of(JobContext& context, double from, double to) {
  return [&context, from, to](double fraction, std::string_view stage) {
    context.report(from + fraction * (to - from), stage);
  };
}

std::shared_ptr<const EarlierCase> analysed_earlier(const fs::path& folder,
                                                    const AnalysisRequest& request,
                                                    const Progress& progress) {
  auto earlier = std::make_shared<EarlierCase>();
  earlier->folder = folder;
  earlier->value = load_case(folder);
  earlier->request = request;
  earlier->analysis = diagnose(folder, earlier->value, request, progress);
  return earlier;
}

/// Of a tone that was looked for somewhere.
std::size_t loudest_place(const ComparedTone& tone) {
  return std::ranges::max_element(tone.at, {},
                                  [](const ToneAtPlace& at) {
                                    constexpr double unheard = -1e3;
                                    return std::max(at.measured.before_db.value_or(unheard),
                                                    at.measured.after_db.value_or(unheard));
                                  })
      ->place;
}

TakeSpectrum spectrum_of(const fs::path& folder, const Case& value, const std::string& id,
                         const Progress& progress) {
  const Take* const take = find_take(value, id);
  if (take == nullptr)
    throw Error(Fault::file, folder.string(), "take " + id + " is not there any more",
                "compare again");
  return read_take_spectrum(folder, *take, value.cylinders, progress);
}

}  // namespace

/// Of another case, or of none.
void Desk::forget_comparison() {
  if (state_.before_after.job) jobs_.cancel(*state_.before_after.job);
  BeforeAfter none;
  none.turn = state_.before_after.turn + 1;
  state_.before_after = std::move(none);
}

/// The same two cases have to be compared anew.
void Desk::outdate_comparison() {
  fs::path folder = std::move(state_.before_after.folder);
  auto earlier = std::move(state_.before_after.earlier);
  if (earlier && !same_band(earlier->request.band, state_.request.band)) earlier.reset();
  forget_comparison();
  state_.before_after.folder = std::move(folder);
  state_.before_after.earlier = std::move(earlier);
}

void Desk::act(const CompareWith& wish) {
  if (!state_.opened) return;
  if (wish.folder.empty()) {
    forget_comparison();
    remember_earlier(state_.settings, state_.opened->folder.string(), "");
    return;
  }
  std::error_code problem;
  const fs::path absolute = fs::absolute(wish.folder, problem);
  const fs::path folder = plain_path(problem ? wish.folder : absolute);
  try {
    require_earlier(folder, state_.opened->folder);
  } catch (const Error& error) {
    return tell_in_sheet(error);
  }
  state_.sheet.reset();
  forget_comparison();
  state_.before_after.folder = folder;
  remember_earlier(state_.settings, state_.opened->folder.string(), folder.string());
  act(ShowBeforeAfter{true});
}

void Desk::act(const ShowBeforeAfter& wish) {
  if (!state_.opened) return;
  state_.view.before_after = wish.on;
  act(GoTo{Step::proof});
}

/// Begins to compare where that is looked at, and is not done.
void Desk::want_comparison() {
  BeforeAfter& now = state_.before_after;
  const bool looked_at = state_.view.before_after && state_.view.step == Step::proof;
  if (!state_.opened || now.folder.empty() || !looked_at || !state_.answer ||
      state_.answer_outdated || now.comparison || now.job || !now.fault.empty())
    return;
  const auto fails = [this, turn = now.turn](const std::exception& why) {
    BeforeAfter& failed = state_.before_after;
    if (failed.turn != turn) return;
    const auto* const error = dynamic_cast<const Error*>(&why);
    failed.job.reset();
    failed.fault =
        error == nullptr ? why.what() : as_in_sheet(error->where() + ": " + error->problem());
    failed.remedy = error == nullptr ? "" : as_in_sheet(error->remedy());
  };
  now.job = jobs_.start(
      Jobs::Lane::work, "Comparing with the case before",
      [this, turn = now.turn, before = now.folder, known = now.earlier,
       folder = state_.opened->folder, value = state_.opened->value, answer = state_.answer,
       request = state_.request](JobContext& context) -> Jobs::Done {
        const auto earlier =
            known ? known : analysed_earlier(before, request, part_of(context, 0, 0.7));
        auto comparison = std::make_shared<const Comparison>(compare_cases(
            {earlier->folder, earlier->value, earlier->analysis}, {folder, value, answer->analysis},
            {request, {}}, part_of(context, 0.7, 1)));
        return [this, turn, earlier, comparison] {
          if (state_.before_after.turn == turn) take_in(earlier, comparison);
        };
      },
      fails);
}

/// Begins with the complaint's tone and the place where it was heard best.
void Desk::take_in(std::shared_ptr<const EarlierCase> earlier,
                   std::shared_ptr<const Comparison> comparison) {
  BeforeAfter& now = state_.before_after;
  now.job.reset();
  now.earlier = std::move(earlier);
  now.comparison = std::move(comparison);
  const auto& tones = now.comparison->tones;
  const auto first =
      std::ranges::find_if(tones, [](const ComparedTone& tone) { return !tone.at.empty(); });
  if (first != tones.end()) {
    now.tone = static_cast<std::size_t>(first - tones.begin());
    now.place = loudest_place(*first);
  }
  read_pair();
  refresh();
}

void Desk::act(const PickPlace& wish) {
  const auto& comparison = state_.before_after.comparison;
  if (!comparison || wish.index >= comparison->places.size()) return;
  state_.before_after.place = wish.index;
  read_pair();
}

void Desk::act(const PickComparedTone& wish) {
  BeforeAfter& now = state_.before_after;
  if (!now.comparison || wish.index >= now.comparison->tones.size()) return;
  now.tone = wish.index;
  const ComparedTone& tone = now.comparison->tones[wish.index];
  if (tone.id_after) act(PickTone{tone.id_after});
  const bool is_there = std::ranges::find(tone.at, now.place, &ToneAtPlace::place) != tone.at.end();
  if (!is_there && !tone.at.empty()) act(PickPlace{loudest_place(tone)});
}

/// The spectra of the place that is looked at.
void Desk::read_pair() {
  BeforeAfter& now = state_.before_after;
  if (!state_.opened || !now.comparison || now.place >= now.comparison->places.size()) return;
  const ComparedPlace& place = now.comparison->places[now.place];
  if (place.takes_before.empty() || place.takes_after.empty()) return;
  jobs_.start(
      Jobs::Lane::pictures, "Reading the pair",
      [this, turn = now.turn, index = now.place, earlier = now.earlier,
       before = place.takes_before.front(), after = place.takes_after.front(),
       folder = state_.opened->folder, value = state_.opened->value](JobContext& context) {
        const Progress progress = part_of(context, 0, 1);
        auto pair = std::make_shared<const PairSpectra>(
            PairSpectra{index, spectrum_of(earlier->folder, earlier->value, before, progress),
                        spectrum_of(folder, value, after, progress)});
        return Jobs::Done([this, turn, pair] {
          BeforeAfter& then = state_.before_after;
          if (then.turn == turn && then.place == pair->place) then.spectra = pair;
        });
      },
      [this](const std::exception& why) { tell(why); });
}

}  // namespace howl::desk
