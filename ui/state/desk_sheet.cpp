#include <algorithm>
#include <exception>
#include <memory>
#include <optional>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "src/case/find_take.h"
#include "src/demo/demo_cases.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/keeping/exchange_case.h"
#include "src/speed/found_words.h"
#include "ui/state/desk.h"
#include "ui/state/sheet.h"

namespace howl::desk {

namespace fs = std::filesystem;

/// What add_take() and change_take() made, which the window's thread takes in.
struct StoredTake {
  Case value;
  std::string id;
  std::vector<std::string> warnings;
  std::optional<FoundSpeed> found;
};

struct DroppedFiles {
  std::optional<fs::path> folder;
  std::vector<fs::path> sounds;
  std::vector<fs::path> logs;
  const fs::path& first() const { return folder ? *folder : sounds.empty() ? logs[0] : sounds[0]; }
};

namespace {

constexpr std::string_view kDemoFolder = "howlpoint-demo";

bool is_folder(const fs::path& path) {
  std::error_code problem;
  return fs::is_directory(path, problem);
}

bool is_case_file(const fs::path& path) { return path.filename() == "case.json"; }

/// A wrong point is the worst slip of all: it is asked for, never guessed.
Fields first_fields() { return {{"speed", std::string(speed_entry_key(SpeedEntry::rpm))}}; }

StoredTake added(const fs::path& folder, const NewTake& request) {
  AddedTake added = add_take(folder, request);
  return {load_case(folder), added.take.id, std::move(added.warnings), std::move(added.found)};
}

StoredTake altered(const fs::path& folder, const Case& before, const std::string& id,
                   const NewTake& facts) {
  ChangedTake altered = change_take(folder, before, id, facts);
  return {std::move(altered.value), id, std::move(altered.warnings), std::move(altered.found)};
}

NewTake request_of(const Sheet& sheet, const OpenedCase& opened) {
  const bool adds = sheet.kind == SheetKind::add_takes;
  const TypedTake typed = typed_take(sheet.typed);
  if (typed.point.empty())
    throw Error(Fault::command, "probe point", "none is chosen yet",
                "choose where the microphone touched");
  require_point(all_points(opened.value, opened.profile), typed);
  if (adds && typed.log && typed.log->empty())
    throw Error(Fault::command, "speed log", "none is chosen yet", "choose its file");
  NewTake request = adds ? new_take_of(sheet.sounds.front(), typed) : facts_of(typed);
  // A point of the profile that the case has not got yet comes with its first take.
  const auto& points = opened.value.points;
  if (std::ranges::find(points, typed.point, &ProbePoint::name) == points.end())
    request.make_point = true;
  return request;
}

/// The case without a take, and without the point that came with it.
Case without_take(Case value, const std::string& id, const Case& other) {
  const Take* const take = find_take(value, id);
  if (take == nullptr) return value;
  const auto is_new = [&](const ProbePoint& point) {
    return point.name == take->point &&
           std::ranges::find(other.points, point.name, &ProbePoint::name) == other.points.end();
  };
  std::erase_if(value.points, is_new);
  std::erase_if(value.takes, [&](const Take& each) { return each.id == id; });
  return value;
}

}  // namespace

fs::path usual_place(const DeskState& state) {
  if (state.opened) return state.opened->folder.parent_path();
  if (!state.settings.recent.empty()) {
    const fs::path beside = fs::path(state.settings.recent.front()).parent_path();
    if (is_folder(beside)) return beside;
  }
  return home_or_root();
}

void Desk::act(const BeginSheet& wish) {
  // A class sees none, and what is being stored still needs its own.
  if (state_.opened && state_.settings.class_mode) return;
  if (state_.sheet && state_.sheet->storing) return;
  const bool of_case = wish.kind != SheetKind::open_case && wish.kind != SheetKind::new_case &&
                       wish.kind != SheetKind::demo_cases;
  if (of_case && (!state_.opened || state_.record.running)) return;
  state_.sheet.emplace();
  Sheet& sheet = *state_.sheet;
  sheet.kind = wish.kind;
  switch (wish.kind) {
    case SheetKind::open_case:
    case SheetKind::demo_cases:
      return act(LookFor{Wanted::case_folder});
    case SheetKind::new_case:
      sheet.sounds = wish.sounds;
      return;
    case SheetKind::about:
      sheet.typed = about_fields_of(state_.opened->value);
      return;
    case SheetKind::add_takes:
      sheet.sounds = wish.sounds;
      sheet.typed = first_fields();
      if (sheet.sounds.empty()) act(LookFor{Wanted::sounds});
      return;
    case SheetKind::change_take: {
      const Take* const take = find_take(state_.opened->value, wish.take);
      if (take == nullptr) return state_.sheet.reset();
      sheet.take = wish.take;
      sheet.typed = fields_of(*take);
      return;
    }
    case SheetKind::earlier_case:
      sheet.wanted = Wanted::case_folder;
      return act(LookInto{usual_place(state_)});
    case SheetKind::band:
      sheet.typed = {{"unit", "hz"}};
      if (const auto band = band_in_use(state_)) sheet.typed = fields_of(*band);
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
  if (wish.field == "point") state_.sheet->typed.erase("new-point");
  state_.sheet->fault.clear();
  state_.sheet->remedy.clear();
}

// ---- on the disk -------------------------------------------------------------------------------

void Desk::act(const LookFor& wish) {
  if (!state_.sheet) return;
  Sheet& sheet = *state_.sheet;
  // Nothing can be said of takes before there are recordings.
  const bool none_yet = sheet.kind == SheetKind::add_takes && sheet.sounds.empty();
  sheet.wanted = none_yet ? Wanted::sounds : wish.wanted;
  sheet.chosen.clear();
  if (sheet.wanted != Wanted::nothing)
    act(LookInto{state_.settings.looked_into.empty() || !is_folder(state_.settings.looked_into)
                     ? usual_place(state_)
                     : fs::path(state_.settings.looked_into)});
}

/// A folder may lie on a disk that takes its time. A file that is typed is chosen.
void Desk::act(const LookInto& wish) {
  if (!state_.sheet) return;
  const fs::path& here = state_.sheet->place.folder;
  fs::path folder = typed_path(wish.folder.string(), here.empty() ? usual_place(state_) : here)
                        .lexically_normal();
  std::error_code problem;
  if (state_.sheet->wanted != Wanted::case_folder && fs::is_regular_file(folder, problem))
    return act(ChooseFile{folder});
  if (!folder.has_filename() && folder.has_parent_path()) folder = folder.parent_path();
  state_.sheet->place = {.folder = folder, .entries = {}, .fault = {}, .left_out = 0};
  state_.sheet->pointed.clear();
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

void Desk::act(const PointAtEntry& wish) {
  if (state_.sheet) state_.sheet->pointed = wish.name;
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
  std::ranges::sort(sheet.chosen);
  sheet.sounds.insert(sheet.sounds.end(), sheet.chosen.begin(), sheet.chosen.end());
  act(LookFor{Wanted::nothing});
}

// ---- storing -----------------------------------------------------------------------------------

void Desk::tell_in_sheet(const std::exception& problem) {
  if (!state_.sheet) return tell(problem);
  const auto* const error = dynamic_cast<const Error*>(&problem);
  state_.sheet->storing = false;
  state_.sheet->fault =
      error == nullptr ? problem.what() : as_in_sheet(error->where() + ": " + error->problem());
  state_.sheet->remedy = error == nullptr ? "" : as_in_sheet(error->remedy());
}

void Desk::act(const SubmitSheet& /*wish*/) {
  if (!state_.sheet || state_.sheet->storing) return;
  try {
    switch (state_.sheet->kind) {
      case SheetKind::open_case:
        return act(
            OpenCase{typed_path(field(state_.sheet->typed, "path"), state_.sheet->place.folder)});
      case SheetKind::new_case:
        return begin_new_case();
      case SheetKind::demo_cases:
        return make_demos();
      case SheetKind::about:
        return store_about();
      case SheetKind::add_takes:
      case SheetKind::change_take:
        return store_take();
      case SheetKind::band:
        return set_typed_band();
      case SheetKind::earlier_case:
        return act(CompareWith{
            typed_path(field(state_.sheet->typed, "path"), state_.sheet->place.folder)});
    }
  } catch (const std::exception& problem) {
    tell_in_sheet(problem);
  }
}

void Desk::begin_new_case() {
  const TypedCase typed = typed_case(state_.sheet->typed, usual_place(state_));
  require_title(typed.title);
  if (typed.profile.empty())
    throw Error(Fault::command, "vehicle", "none is chosen yet",
                "choose the layout that is most like it");
  begin_case(typed);
  sounds_for_new_case_ = state_.sheet->sounds;
  open_folder(typed.folder);
}

/// In a folder of their own, so that they are not strewn among other things. Then they are offered.
void Desk::make_demos() {
  const fs::path folder =
      typed_path(field(state_.sheet->typed, "path"), state_.sheet->place.folder) / kDemoFolder;
  std::error_code problem;
  if (fs::exists(folder, problem))
    throw Error(Fault::command, folder.string(), "is there already",
                "open its cases, or choose another folder");
  state_.sheet.reset();
  jobs_.start(
      Jobs::Lane::work, "Making demo cases",
      [this, folder](JobContext& context) -> Jobs::Done {
        make_demo_cases(folder, [&](const std::string& name, std::size_t done, std::size_t takes) {
          context.report(static_cast<double>(done) / static_cast<double>(takes), "making " + name);
        });
        return [this, folder] {
          state_.notices.push_back(
              {Notice::Kind::note, "The demo cases lie in " + folder.string(), "", {}});
          if (state_.opened || state_.sheet) return;
          act(BeginSheet{.kind = SheetKind::open_case, .take = {}, .sounds = {}});
          act(LookInto{folder});
        };
      },
      [this](const std::exception& why) { tell(why); });
}

void Desk::store_about() {
  if (change_to(with_about(state_.opened->value, state_.sheet->typed))) state_.sheet.reset();
}

void Desk::set_typed_band() {
  const AnalysisRequest request = band_request(typed_band(state_.sheet->typed));
  state_.sheet.reset();
  act(SetBand{request.band});
}

/// In a job: a recording is copied and read through.
void Desk::store_take() {
  Sheet& sheet = *state_.sheet;
  const bool adds = sheet.kind == SheetKind::add_takes;
  if (adds && sheet.sounds.empty()) return;
  const NewTake request = request_of(sheet, *state_.opened);
  sheet.storing = true;
  jobs_.start(
      Jobs::Lane::store, adds ? "Adding the take" : "Changing the take",
      [this, adds, request, id = sheet.take, folder = state_.opened->folder,
       before = state_.opened->value](JobContext&) -> Jobs::Done {
        auto stored = std::make_shared<StoredTake>(adds ? added(folder, request)
                                                        : altered(folder, before, id, request));
        return [this, adds, stored, folder] {
          if (state_.opened && state_.opened->folder == folder) take_in(std::move(*stored), adds);
        };
      },
      [this, folder = state_.opened->folder](const std::exception& why) {
        if (!state_.opened || state_.opened->folder != folder) return tell(why);
        tell_in_sheet(why);
        if (dynamic_cast<const CaseChangedElsewhere*>(&why) == nullptr) return;
        forget_changes();
        read_again();
      });
}

/// It can be undone, unless another program changed the case as well: that would be undone with it.
void Desk::take_in(StoredTake stored, bool adds) {
  const Case& now = state_.opened->value;
  if (!adds || same_case(without_take(stored.value, stored.id, now), now)) {
    state_.cases_before.push_back({now, state_.request});
    state_.cases_after.clear();
  } else {
    forget_changes();
  }
  changed(std::move(stored.value));
  if (stored.found)
    state_.notices.push_back(
        {Notice::Kind::note, stored.id + ": speed " + found_words(*stored.found), "", {}});
  for (const std::string& warning : stored.warnings)
    state_.notices.push_back({Notice::Kind::note, stored.id + ": " + as_in_sheet(warning), "", {}});
  act(PickTake{stored.id});
  if (!state_.sheet || !state_.sheet->storing) return;
  state_.sheet->storing = false;
  if (!adds) return state_.sheet.reset();
  ++state_.sheet->added;
  act(SkipSound{});
}

void Desk::act(const SkipSound& /*wish*/) {
  if (!state_.sheet || state_.sheet->storing || state_.sheet->sounds.empty()) return;
  state_.sheet->fault.clear();
  state_.sheet->typed = fields_for_next(std::move(state_.sheet->typed));
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
  DroppedFiles dropped;
  for (const fs::path& path : wish.paths) {
    if (is_folder(path) || is_case_file(path))
      dropped.folder = path;
    else
      (is_log_file(path) ? dropped.logs : dropped.sounds).push_back(path);
  }
  if (wish.paths.empty() || !can_take_drops(dropped)) return;
  const bool earlier = state_.sheet && state_.sheet->kind == SheetKind::earlier_case;
  if (dropped.folder && earlier) return act(CompareWith{*dropped.folder});
  if (dropped.folder) return act(OpenCase{*dropped.folder});
  const bool asked_before = state_.sheet && !state_.sheet->sounds.empty();
  if (!dropped.sounds.empty()) drop_sounds(dropped.sounds);
  if (dropped.logs.empty()) return;
  // Which of several takes a log belongs to is not guessed.
  if (dropped.logs.size() > 1 || (asked_before && !dropped.sounds.empty()))
    return tell(Error(Fault::command, dropped.logs.front().filename().string(),
                      "is a speed log, and it is not clear of which take",
                      "drop it alone while its take is asked about"));
  drop_log(dropped.logs.front());
}

/// Tells why not, where what is going on would suffer.
bool Desk::can_take_drops(const DroppedFiles& dropped) {
  const auto refuse = [&](const char* why, const char* remedy) {
    tell(Error(Fault::command, dropped.first().filename().string(), why, remedy));
    return false;
  };
  if (state_.record.running)
    return refuse("is not taken while a take is recorded", "end the recording, then drop it again");
  if (state_.opened && state_.settings.class_mode && !dropped.folder)
    return refuse("is not taken before a class", "leave class mode (F5), then drop it again");
  if (!state_.sheet) return true;
  if (state_.sheet->storing)
    return refuse("is not taken while a take is stored", "drop it again in a moment");
  const SheetKind kind = state_.sheet->kind;
  const bool looks_for_case = kind == SheetKind::open_case || kind == SheetKind::earlier_case;
  if (dropped.folder && !looks_for_case)
    return refuse("is not opened while something is filled in",
                  "keep that or cancel it, then drop it again");
  const bool of_one = kind == SheetKind::about || kind == SheetKind::change_take ||
                      kind == SheetKind::band || kind == SheetKind::earlier_case;
  if (!dropped.sounds.empty() && of_one)
    return refuse("is not taken while something is filled in",
                  "keep that or cancel it, then drop it again");
  return true;
}

void Desk::drop_sounds(std::vector<fs::path> sounds) {
  std::ranges::sort(sounds);
  const bool more = state_.sheet && (state_.sheet->kind == SheetKind::add_takes ||
                                     state_.sheet->kind == SheetKind::new_case);
  if (!more && state_.opened) return ask_about(std::move(sounds));
  if (!more)
    return act(BeginSheet{.kind = SheetKind::new_case, .take = {}, .sounds = std::move(sounds)});
  Sheet& sheet = *state_.sheet;
  if (sheet.wanted == Wanted::sounds) {
    sheet.chosen.insert(sheet.chosen.end(), sounds.begin(), sounds.end());
    return act(TakeChosen{});
  }
  sheet.sounds.insert(sheet.sounds.end(), sounds.begin(), sounds.end());
}

void Desk::drop_log(const fs::path& log) {
  const auto& picked = state_.view.selection.take;
  if (!state_.sheet && picked) act(BeginSheet{.kind = SheetKind::change_take, .take = *picked});
  const bool of_take =
      state_.sheet &&
      (state_.sheet->kind == SheetKind::change_take ||
       (state_.sheet->kind == SheetKind::add_takes && !state_.sheet->sounds.empty()));
  if (!of_take)
    return tell(Error(Fault::command, log.filename().string(), "is a speed log without its take",
                      "drop the recording first, then its log"));
  state_.sheet->wanted = Wanted::log;
  act(ChooseFile{log});
}

}  // namespace howl::desk
