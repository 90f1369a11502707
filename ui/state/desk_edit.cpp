#include <fmt/format.h>

#include <algorithm>
#include <exception>
#include <memory>
#include <string>
#include <utility>

#include "src/case/case_folder.h"
#include "src/case/evidence.h"
#include "src/case/find_take.h"
#include "src/document/report_of.h"
#include "src/document/write_report.h"
#include "src/files/show_file.h"
#include "src/handover/export.h"
#include "src/handover/pack.h"
#include "src/handover/tables.h"
#include "src/keeping/exchange_case.h"
#include "src/report/picture_of.h"
#include "ui/state/copies.h"
#include "ui/state/desk.h"
#include "ui/state/lesson.h"

namespace howl::desk {
namespace {

/// Whether a take went or became another; those that came do no harm to what is shown.
bool lost_takes(const Case& before, const Case& now) {
  Case kept = before;
  kept.takes.clear();
  for (const Take& take : before.takes)
    if (const Take* still = find_take(now, take.id)) kept.takes.push_back(*still);
  return !same_case(before, kept);
}

void hand_over(HandOver what, const std::filesystem::path& place, document::Paper paper,
               const OpenedCase& opened, const Answer* answer, const AnalysisRequest& request,
               const std::filesystem::path& before, const Progress& progress) {
  if (what == HandOver::packed) return handover::pack_case(opened.folder, place, progress);
  if (what == HandOver::tables) {
    handover::export_case(opened.folder, opened.value, answer->analysis, request, place, progress);
    return;
  }
  const document::ReportRequest wanted{
      .analysis = request,
      .after = {},
      .before = before.empty() ? std::vector<std::filesystem::path>{} : std::vector{before},
      .renamed = {},
      .with_clips = what == HandOver::html};
  document::write_report(
      document::report_of(opened.folder, opened.value, answer->analysis, wanted, progress), paper,
      place);
}

}  // namespace

// ---- changes of the case ----------------------------------------------------------------------

/// In the window's thread, because it is short, and a job that waits could be called off with what
/// it was to store. What another program wrote meanwhile is never lost: then the case is read
/// again.
bool Desk::exchange(const Case& wanted) {
  try {
    exchange_case(state_.opened->folder, state_.opened->value, wanted);
    return true;
  } catch (const std::exception& problem) {
    tell_in_sheet(problem);
    forget_changes();
    read_again();
    return false;
  }
}

/// False where it could not be stored.
bool Desk::change_to(const Case& wanted) {
  const Case before = state_.opened->value;
  if (same_case(before, wanted)) return true;
  if (!exchange(wanted)) return false;
  state_.cases_before.push_back({before, state_.request});
  state_.cases_after.clear();
  changed(wanted);
  return true;
}

/// The case on the desk is this one now, as on the disk.
void Desk::changed(Case now) {
  Case& value = state_.opened->value;
  const bool lost = lost_takes(value, now);
  value = std::move(now);
  state_.opened->plan = plan_of(value, state_.opened->profile);
  if (lost) {
    // What is shown of takes would be of others.
    state_.answer.reset();
    sounds_.forget_all(jobs_);
    std::erase_if(state_.view.compared,
                  [&](const std::string& id) { return find_take(value, id) == nullptr; });
    auto& picked = state_.view.selection.take;
    if (picked && find_take(value, *picked) == nullptr) act(PickTake{});
    listen_to_picked();
    want_sounds();
  }
  analyse_case();
}

void Desk::forget_changes() {
  state_.cases_before.clear();
  state_.cases_after.clear();
}

void Desk::act(const ShowFact& wish) {
  if (!state_.opened) return;
  state_.view.cautions_shown = false;
  state_.view.fact = wish.key;
  ++state_.view.led_to_fact;
  constexpr std::size_t facts_part = 1;  // where there is no room for both parts of the step
  state_.view.parts.at(static_cast<std::size_t>(Step::complaint)) = facts_part;
  act(GoTo{Step::complaint});
}

void Desk::act(const EnterFact& wish) {
  if (!state_.opened) return;
  Case wanted = state_.opened->value;
  const WorkshopEvidence* const found = find_evidence(wanted, wish.key);
  if (!wish.value)
    forget_evidence(wanted, wish.key);
  else if (found == nullptr || found->value != *wish.value)
    enter_evidence(wanted, {.key = wish.key,
                            .value = *wish.value,
                            .note = found == nullptr ? std::string() : found->note,
                            .added = now_as_text()});
  change_to(wanted);
}

void Desk::act(const TakeOut& wish) {
  if (!state_.opened || state_.record.running) return;
  const Case& value = state_.opened->value;
  if (find_take(value, wish.take) != nullptr) change_to(taken_out(value, wish.take));
}

/// Goes one change back, or forth again; not over what another program changed meanwhile.
void Desk::put_back(std::vector<Undoable>& from, std::vector<Undoable>& to) {
  if (!state_.opened || from.empty() || state_.record.running) return;
  Undoable wanted = std::move(from.back());
  from.pop_back();
  const Case before = state_.opened->value;
  const bool same = same_case(before, wanted.value);
  if (!same && !exchange(wanted.value)) return;
  to.push_back({before, std::exchange(state_.request, wanted.request)});
  same ? analyse_case() : changed(std::move(wanted.value));
}

void Desk::act(const Undo& /*wish*/) { put_back(state_.cases_before, state_.cases_after); }
void Desk::act(const Redo& /*wish*/) { put_back(state_.cases_after, state_.cases_before); }

// ---- handing over ------------------------------------------------------------------------------

void Desk::act(const SetPaper& wish) { state_.hand_over.paper = wish.paper; }

void Desk::act(const WriteOut& wish) {
  if (!state_.opened || (wish.what != HandOver::packed && !state_.answer)) return;
  const std::filesystem::path place = free_place(state_.opened->folder, wish.what);
  const auto opened = std::make_shared<const OpenedCase>(*state_.opened);
  jobs_.start(
      Jobs::Lane::work, "Writing: " + std::string(hand_over_name(wish.what)),
      [this, what = wish.what, place, opened, answer = state_.answer, request = state_.request,
       paper = state_.hand_over.paper,
       before = state_.before_after.folder](JobContext& context) -> Jobs::Done {
        hand_over(
            what, place, paper, *opened, answer.get(), request, before,
            [&](double fraction, std::string_view stage) { context.report(fraction, stage); });
        return [this, place, folder = opened->folder] {
          if (!state_.opened || state_.opened->folder != folder) return;
          std::vector<std::filesystem::path>& written = state_.hand_over.written;
          written.insert(written.begin(), place);
        };
      },
      [this](const std::exception& why) { tell(why); });
}

void Desk::refuse(std::string what) {
  state_.notices.push_back({Notice::Kind::refusal, std::move(what), "", {}});
}

void Desk::act(const CopyTable& /*wish*/) {
  if (!state_.opened) return;
  if (is_answer_hidden(state_)) return refuse("No table is copied while the answer is hidden");
  if (!state_.answer) return refuse("There is no table yet: nothing is analysed");
  const auto tables = handover::tables_of(state_.opened->value, state_.answer->analysis);
  const auto table =
      std::ranges::find(tables, table_of_step(state_.view.step), &handover::DataTable::name);
  if (table->rows.empty())
    return refuse(fmt::format("'{}' has no table to copy", step_name(state_.view.step)));
  state_.to_copy = tabbed(*table);
  state_.notices.push_back({Notice::Kind::note,
                            fmt::format("Copied: {}, {} {}", table->title, table->rows.size(),
                                        table->rows.size() == 1 ? "row" : "rows"),
                            ""});
}

void Desk::act(const TableCopied& /*wish*/) { state_.to_copy.reset(); }

void Desk::act(const SavePicture& /*wish*/) {
  if (!state_.opened) return;
  const auto kind = picture_of_step(state_.view);
  if (!kind) return refuse(fmt::format("'{}' has no picture to save", step_name(state_.view.step)));
  if (is_answer_hidden(state_)) return refuse("No picture is saved while the answer is hidden");
  if (!state_.answer) return refuse("There is no picture yet: nothing is analysed");
  const bool of_take = *kind == PictureKind::spectrogram || *kind == PictureKind::orders;
  const auto take = of_take ? state_.view.selection.take : std::nullopt;
  const std::filesystem::path place =
      free_place(state_.opened->folder,
                 fmt::format("-{}{}", picture_word(*kind), take ? "-" + *take : ""), ".png");
  jobs_.start(
      Jobs::Lane::work, "Drawing the picture",
      [this, place, take, kind = *kind, opened = std::make_shared<const OpenedCase>(*state_.opened),
       answer = state_.answer](JobContext& context) -> Jobs::Done {
        context.report(0.0, "drawing");
        draw(picture_of(opened->folder, opened->value, opened->profile, answer->analysis, kind,
                        take),
             place);
        return [this, place] {
          state_.notices.push_back({Notice::Kind::note, "Written: " + place.string(), ""});
        };
      },
      [this](const std::exception& why) { tell(why); });
}

void Desk::act(const ShowFile& wish) {
  try {
    show_file(wish.file);
  } catch (const Error& error) {
    tell(error);
  }
}

}  // namespace howl::desk
