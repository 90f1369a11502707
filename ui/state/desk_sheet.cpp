#include <algorithm>
#include <cstdlib>
#include <exception>
#include <memory>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "src/case/exchange_case.h"
#include "src/errors.h"
#include "ui/state/desk.h"
#include "ui/state/sheet.h"

namespace howl::desk {

namespace fs = std::filesystem;

namespace {

fs::path home() {
  const char* const home = std::getenv("HOME");
  return home != nullptr && *home != '\0' ? fs::path(home) : fs::path("/");
}

bool is_folder(const fs::path& path) {
  std::error_code problem;
  return fs::is_directory(path, problem);
}

bool is_case(const fs::path& path) {
  std::error_code problem;
  return path.filename() == "case.json" || fs::exists(path / "case.json", problem);
}

Fields first_fields(const DeskState& state) {
  const std::string& planned = state.record.plan.point;
  return {{"point", planned.empty() ? state.view.selection.point.value_or("") : planned},
          {"speed", std::string(speed_entry_key(SpeedEntry::rpm))}};
}

/// What add_take() and change_take() found, which the window's thread takes in.
struct StoredTake {
  Case value;
  std::string id;
  std::vector<std::string> warnings;
};

StoredTake added(const fs::path& folder, const NewTake& request) {
  AddedTake added = add_take(folder, request);
  return {load_case(folder), added.take.id, std::move(added.warnings)};
}

StoredTake altered(const fs::path& folder, const Case& before, const std::string& id,
                   const NewTake& facts) {
  ChangedTake altered = change_take(folder, before, id, facts);
  return {std::move(altered.value), id, std::move(altered.warnings)};
}

}  // namespace

fs::path usual_place(const DeskState& state) {
  if (state.opened) return state.opened->folder.parent_path();
  if (!state.settings.recent.empty()) {
    const fs::path beside = fs::path(state.settings.recent.front()).parent_path();
    if (is_folder(beside)) return beside;
  }
  return home();
}

void Desk::act(const BeginSheet& wish) {
  // A class sees none, and what is being stored still needs its own.
  if (state_.opened && state_.settings.class_mode) return;
  if (state_.sheet && state_.sheet->storing) return;
  const bool of_case = wish.kind != SheetKind::open_case && wish.kind != SheetKind::new_case;
  if (of_case && (!state_.opened || state_.record.running)) return;
  state_.sheet.emplace();
  Sheet& sheet = *state_.sheet;
  sheet.kind = wish.kind;
  switch (wish.kind) {
    case SheetKind::open_case:
      return act(LookFor{Wanted::case_folder});
    case SheetKind::new_case:
      sheet.sounds = wish.sounds;
      return;
    case SheetKind::about:
      sheet.typed = about_fields_of(state_.opened->value);
      return;
    case SheetKind::add_takes:
      sheet.sounds = wish.sounds;
      sheet.typed = first_fields(state_);
      if (sheet.sounds.empty()) act(LookFor{Wanted::sounds});
      return;
    case SheetKind::change_take:
      const Take* const take = find_take(state_.opened->value, wish.take);
      if (take == nullptr) return state_.sheet.reset();
      sheet.take = wish.take;
      sheet.typed = fields_of(*take);
      return;
  }
}

void Desk::ask_about(std::vector<fs::path> sounds) {
  act(GoTo{Step::record});
  act(ShowTakes{true});
  act(BeginSheet{.kind = SheetKind::add_takes, .take = {}, .sounds = std::move(sounds)});
}

void Desk::act(const TypeInto& wish) {
  if (!state_.sheet || state_.sheet->storing) return;
  state_.sheet->typed.insert_or_assign(wish.field, wish.text);
  state_.sheet->fault.clear();
  state_.sheet->remedy.clear();
}

// ---- on the disk -------------------------------------------------------------------------------

void Desk::act(const LookFor& wish) {
  if (!state_.sheet) return;
  state_.sheet->wanted = wish.wanted;
  state_.sheet->chosen.clear();
  if (wish.wanted != Wanted::nothing)
    act(LookInto{state_.settings.looked_into.empty() || !is_folder(state_.settings.looked_into)
                     ? usual_place(state_)
                     : fs::path(state_.settings.looked_into)});
}

/// A folder may lie on a disk that takes its time. A file that is typed is chosen.
void Desk::act(const LookInto& wish) {
  if (!state_.sheet) return;
  std::error_code problem;
  if (state_.sheet->wanted != Wanted::case_folder &&
      std::filesystem::is_regular_file(wish.folder, problem))
    return act(ChooseFile{wish.folder});
  fs::path folder = wish.folder.lexically_normal();
  if (!folder.has_filename() && folder.has_parent_path()) folder = folder.parent_path();
  state_.sheet->place = {.folder = folder, .entries = {}, .fault = {}, .left_out = 0};
  state_.sheet->typed.insert_or_assign("path", folder.string());
  jobs_.start(
      Jobs::Lane::disk, "Looking into the folder",
      [this, folder, wanted = state_.sheet->wanted](JobContext&) -> Jobs::Done {
        auto place = std::make_shared<Place>(read_place(folder, wanted));
        return [this, place, wanted] {
          if (!state_.sheet || state_.sheet->wanted != wanted ||
              state_.sheet->place.folder != place->folder)
            return;
          if (place->fault.empty()) state_.settings.looked_into = place->folder.string();
          state_.sheet->place = std::move(*place);
        };
      },
      [this](const std::exception& why) { tell(why); });
}

void Desk::act(const ChooseFile& wish) {
  if (!state_.sheet) return;
  Sheet& sheet = *state_.sheet;
  if (sheet.wanted == Wanted::log) {
    sheet.typed.insert_or_assign("log", wish.file.string());
    sheet.typed.insert_or_assign("speed", std::string(speed_entry_key(SpeedEntry::log)));
    return act(LookFor{Wanted::nothing});
  }
  if (std::erase(sheet.chosen, wish.file) == 0) sheet.chosen.push_back(wish.file);
}

void Desk::act(const TakeChosen& /*wish*/) {
  if (!state_.sheet || state_.sheet->chosen.empty()) return;
  Sheet& sheet = *state_.sheet;
  sheet.sounds = std::exchange(sheet.chosen, {});
  std::ranges::sort(sheet.sounds);
  act(LookFor{Wanted::nothing});
}

// ---- storing -----------------------------------------------------------------------------------

void Desk::tell_in_sheet(const std::exception& problem) {
  if (!state_.sheet) return tell(problem);
  const auto* const error = dynamic_cast<const Error*>(&problem);
  state_.sheet->storing = false;
  state_.sheet->fault =
      error == nullptr ? problem.what() : as_in_sheet(error->where() + " " + error->problem());
  state_.sheet->remedy = error == nullptr ? "" : as_in_sheet(error->remedy());
}

void Desk::act(const SubmitSheet& /*wish*/) {
  if (!state_.sheet || state_.sheet->storing) return;
  try {
    switch (state_.sheet->kind) {
      case SheetKind::open_case:
        return act(OpenCase{field(state_.sheet->typed, "path")});
      case SheetKind::new_case:
        return begin_new_case();
      case SheetKind::about:
        return store_about();
      case SheetKind::add_takes:
      case SheetKind::change_take:
        return store_take();
    }
  } catch (const Error& error) {
    tell_in_sheet(error);
  }
}

void Desk::begin_new_case() {
  const TypedCase typed = typed_case(state_.sheet->typed, usual_place(state_));
  require_title(typed.title);
  if (typed.profile.empty())
    throw Error(Fault::command, "the vehicle", "is not chosen yet",
                "choose the layout that is most like it");
  begin_case(typed);
  sounds_for_new_case_ = state_.sheet->sounds;
  open_folder(typed.folder);
}

void Desk::store_about() {
  change_to(with_about(state_.opened->value, state_.sheet->typed));
  state_.sheet.reset();
}

/// In a job: a recording is copied and read through.
void Desk::store_take() {
  Sheet& sheet = *state_.sheet;
  const bool adds = sheet.kind == SheetKind::add_takes;
  if (adds && sheet.sounds.empty()) return;
  const TypedTake typed = typed_take(sheet.typed);
  require_point(all_points(state_.opened->value, state_.opened->profile), typed);
  NewTake request = new_take_of(adds ? sheet.sounds.front() : fs::path(), typed);
  if (request.log && request.log->empty()) {
    if (adds) throw Error(Fault::command, "speed log", "is not chosen yet", "choose its file");
    request.log.reset();
  }
  // A point of the profile that the case has not got yet comes with its first take.
  const auto& points = state_.opened->value.points;
  if (std::ranges::find(points, typed.point, &ProbePoint::name) == points.end())
    request.make_point = true;
  sheet.storing = true;
  jobs_.start(
      Jobs::Lane::work, adds ? "Adding the take" : "Changing the take",
      [this, adds, request, id = sheet.take, folder = state_.opened->folder,
       before = state_.opened->value](JobContext& context) -> Jobs::Done {
        context.report(0.0, "reading the recording");
        auto stored = std::make_shared<StoredTake>(adds ? added(folder, request)
                                                        : altered(folder, before, id, request));
        return [this, adds, stored, folder, before] {
          if (!state_.opened || state_.opened->folder != folder) return;
          state_.cases_before.push_back(before);
          state_.cases_after.clear();
          changed(std::move(stored->value));
          for (const std::string& warning : stored->warnings)
            state_.notices.push_back({Notice::Kind::note, stored->id + ": " + warning, ""});
          act(PickTake{stored->id});
          if (!state_.sheet) return;
          state_.sheet->storing = false;
          if (!adds) return state_.sheet.reset();
          ++state_.sheet->added;
          state_.sheet->typed = fields_for_next(std::move(state_.sheet->typed));
          act(SkipSound{});
        };
      },
      [this](const std::exception& why) { tell_in_sheet(why); });
}

void Desk::act(const SkipSound& /*wish*/) {
  if (!state_.sheet || state_.sheet->storing || state_.sheet->sounds.empty()) return;
  state_.sheet->fault.clear();
  state_.sheet->sounds.erase(state_.sheet->sounds.begin());
  if (state_.sheet->sounds.empty()) state_.sheet.reset();
}

void Desk::act(const CloseSheet& /*wish*/) {
  if (!state_.sheet || state_.sheet->storing) return;
  const bool back_to_take =
      state_.sheet->wanted == Wanted::log ||
      (state_.sheet->wanted == Wanted::sounds && !state_.sheet->sounds.empty());
  if (back_to_take) return act(LookFor{Wanted::nothing});
  state_.sheet.reset();
}

// ---- what is dropped on the window -------------------------------------------------------------

void Desk::act(const DropFiles& wish) {
  std::vector<fs::path> sounds;
  for (const fs::path& path : wish.paths) {
    if (is_folder(path) || is_case(path)) return act(OpenCase{path});
    if (is_log_file(path)) {
      const auto& picked = state_.view.selection.take;
      if (!state_.sheet && picked) act(BeginSheet{.kind = SheetKind::change_take, .take = *picked});
      if (state_.sheet && (state_.sheet->kind == SheetKind::add_takes ||
                           state_.sheet->kind == SheetKind::change_take)) {
        state_.sheet->wanted = Wanted::log;
        act(ChooseFile{path});
      } else {
        tell(Error(Fault::command, path.filename().string(), "is a speed log without its take",
                   "drop the recording first, then its log"));
      }
    } else {
      sounds.push_back(path);
    }
  }
  if (sounds.empty()) return;
  std::ranges::sort(sounds);
  const bool more = state_.sheet && (state_.sheet->kind == SheetKind::add_takes ||
                                     state_.sheet->kind == SheetKind::new_case);
  if (!more && !state_.opened)
    act(BeginSheet{.kind = SheetKind::new_case, .take = {}, .sounds = std::move(sounds)});
  else if (more)
    state_.sheet->sounds.insert(state_.sheet->sounds.end(), sounds.begin(), sounds.end());
  else
    ask_about(std::move(sounds));
}

}  // namespace howl::desk
