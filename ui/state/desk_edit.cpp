#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <string>
#include <utility>

#include "src/case/case_folder.h"
#include "src/case/evidence.h"
#include "src/document/report_of.h"
#include "src/document/write_report.h"
#include "src/files/show_file.h"
#include "src/handover/export.h"
#include "src/handover/pack.h"
#include "src/handover/tables.h"
#include "src/report/picture_of.h"
#include "ui/state/copies.h"
#include "ui/state/desk.h"
#include "ui/state/lesson.h"

namespace howl::desk {
namespace {

/// Whether the same was found, whenever it was entered.
bool same_evidence(const Evidence& a, const Evidence& b) {
  return std::ranges::equal(a, b, [](const WorkshopEvidence& x, const WorkshopEvidence& y) {
    return x.key == y.key && x.value == y.value && x.note == y.note;
  });
}

void hand_over(HandOver what, const std::filesystem::path& place, document::Paper paper,
               const OpenedCase& opened, const Answer* answer, const AnalysisRequest& request,
               const Progress& progress) {
  if (what == HandOver::packed) return handover::pack_case(opened.folder, place, progress);
  if (what == HandOver::tables) {
    handover::export_case(opened.folder, opened.value, answer->analysis, request, place, progress);
    return;
  }
  const document::ReportRequest wanted{
      .analysis = request, .after = {}, .renamed = {}, .with_clips = what == HandOver::html};
  document::write_report(
      document::report_of(opened.folder, opened.value, answer->analysis, wanted, progress), paper,
      place);
}

}  // namespace

// ---- what the workshop found -------------------------------------------------------------------

/// Changes the case on the disk, reads it again, and analyses it anew. In the window's thread,
/// because it is short, and a job that waits could be called off with what it was to store.
void Desk::store(const std::function<void(Case&)>& change) {
  const std::filesystem::path folder = state_.opened->folder;
  try {
    update_case(folder, change);
    state_.opened->value = load_case(folder);
    analyse_case();
  } catch (const Error& error) {
    tell(error);
    state_.facts_before.clear();
    state_.facts_after.clear();
    read_again();
  }
}

void Desk::act(const EnterFact& wish) {
  if (!state_.opened) return;
  const auto enter = [&wish](Case& value) {
    if (wish.value)
      enter_evidence(value,
                     {.key = wish.key, .value = *wish.value, .note = {}, .added = now_as_text()});
    else
      forget_evidence(value, wish.key);
  };
  const Case& now = state_.opened->value;
  Case changed = now;
  enter(changed);
  if (same_evidence(changed.evidence, now.evidence)) return;
  state_.facts_before.push_back(now.evidence);
  state_.facts_after.clear();
  store(enter);
}

/// Goes one step back, or forth again; not over what another program entered meanwhile.
void Desk::put_back(std::vector<Evidence>& from, std::vector<Evidence>& to) {
  if (!state_.opened || from.empty()) return;
  const Evidence wanted = std::move(from.back());
  from.pop_back();
  const Evidence expected = state_.opened->value.evidence;
  to.push_back(expected);
  store([&](Case& value) {
    if (!same_evidence(value.evidence, expected))
      throw Error(Fault::file, "what the workshop found",
                  "was changed by another program meanwhile", "look at it again, then change it");
    value.evidence = wanted;
  });
}

void Desk::act(const UndoFact& /*wish*/) { put_back(state_.facts_before, state_.facts_after); }
void Desk::act(const RedoFact& /*wish*/) { put_back(state_.facts_after, state_.facts_before); }

// ---- handing over ------------------------------------------------------------------------------

void Desk::act(const SetPaper& wish) { state_.hand_over.paper = wish.paper; }

void Desk::act(const WriteOut& wish) {
  if (!state_.opened || (wish.what != HandOver::packed && !state_.answer)) return;
  const std::filesystem::path place = free_place(state_.opened->folder, wish.what);
  const auto opened = std::make_shared<const OpenedCase>(*state_.opened);
  jobs_.start(
      Jobs::Lane::work, "Writing: " + std::string(hand_over_name(wish.what)),
      [this, what = wish.what, place, opened, answer = state_.answer, request = state_.request,
       paper = state_.hand_over.paper](JobContext& context) -> Jobs::Done {
        hand_over(
            what, place, paper, *opened, answer.get(), request,
            [&](double fraction, std::string_view stage) { context.report(fraction, stage); });
        return [this, place, folder = opened->folder] {
          if (!state_.opened || state_.opened->folder != folder) return;
          std::vector<std::filesystem::path>& written = state_.hand_over.written;
          written.insert(written.begin(), place);
        };
      },
      [this](const std::exception& why) { tell(why); });
}

void Desk::act(const CopyTable& /*wish*/) {
  if (!state_.opened || !state_.answer || is_answer_hidden(state_)) return;
  const auto tables = handover::tables_of(state_.opened->value, state_.answer->analysis);
  const auto table =
      std::ranges::find(tables, table_of_step(state_.view.step), &handover::DataTable::name);
  state_.to_copy = tabbed(*table);
  state_.notices.push_back({Notice::Kind::note,
                            fmt::format("Copied: {}, {} {}", table->title, table->rows.size(),
                                        table->rows.size() == 1 ? "row" : "rows"),
                            ""});
}

void Desk::act(const TableCopied& /*wish*/) { state_.to_copy.reset(); }

void Desk::act(const SavePicture& /*wish*/) {
  const auto kind = picture_of_step(state_.view);
  if (!state_.opened || !state_.answer || !kind || is_answer_hidden(state_)) return;
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
