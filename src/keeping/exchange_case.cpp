#include "src/keeping/exchange_case.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <optional>
#include <set>
#include <system_error>
#include <utility>
#include <variant>

#include "src/case/case_folder.h"
#include "src/case/case_json.h"
#include "src/case/find_take.h"
#include "src/case/take_rules.h"
#include "src/files/descriptor.h"
#include "src/files/durable_file.h"
#include "src/files/folder_lock.h"
#include "src/keeping/add_take.h"
#include "src/keeping/heard_channels.h"
#include "src/profile/load_tests.h"
#include "src/speed/speed_of_take.h"

namespace howl {

namespace fs = std::filesystem;

namespace {

using Files = std::set<std::string>;  // paths inside the case folder

Files files_of(const Case& value) {
  Files files;
  for (const Take& take : value.takes) {
    files.insert(take.recording);
    if (const auto* logged = std::get_if<LoggedSpeed>(&take.speed)) files.insert(logged->log);
  }
  return files;
}

Files without(const Files& files, const Files& others) {
  Files rest;
  std::ranges::set_difference(files, others, std::inserter(rest, rest.end()));
  return rest;
}

void make_folder_of(const fs::path& file) {
  std::error_code problem;
  fs::create_directories(file.parent_path(), problem);
  if (problem) throw system_error(file.parent_path(), "cannot be made", problem.value());
}

void move_if_there(const fs::path& from, const fs::path& to) {
  if (!is_there(from) || is_there(to)) return;
  make_folder_of(to);
  move_durably(from, to);
}

void fetch(const fs::path& folder, const Files& files) {
  for (const std::string& file : files) {
    move_if_there(folder / set_aside_folder / file, folder / file);
    if (!is_there(folder / file))
      throw Error(Fault::file, file, "is gone, from its place and from those set aside",
                  "put the file back into the case's folder '" + std::string(set_aside_folder) +
                      "', then try again");
  }
}

/// The case is stored already and does not need them: a file that cannot be moved stays where it
/// is, and check_case() tells of it.
void set_aside(const fs::path& folder, const Files& files) {
  for (const std::string& file : files) {
    try {
      move_if_there(folder / file, folder / set_aside_folder / file);
    } catch (const Error&) {
      continue;
    }
  }
}

void require_unchanged(const fs::path& folder, const Case& expected) {
  if (!same_case(load_case(folder), expected)) throw CaseChangedElsewhere(folder);
}

// ---- a take with other facts ----

Take& take_named(Case& value, const std::string& id) {
  const auto found = std::ranges::find(value.takes, id, &Take::id);
  if (found == value.takes.end()) throw no_such_take(value, "take " + id);
  return *found;
}

/// What the recording says of itself stays.
Take with_facts(const Take& old, const Take& facts) {
  Take take = facts;
  take.id = old.id;
  take.recording = old.recording;
  take.original_name = old.original_name;
  take.sha256 = old.sha256;
  take.sample_rate = old.sample_rate;
  take.frames = old.frames;
  take.channels = old.channels;
  take.overruns = old.overruns;
  take.added = old.added;
  return take;
}

void keep_log(const Take& old, Take& take, bool new_log) {
  const bool logged = std::holds_alternative<LoggedSpeed>(take.speed);
  if (new_log && !logged)
    throw Error(Fault::command, "speed log", "is given, but the speed comes from elsewhere",
                "give a log file if and only if the speed is logged");
  if (!logged || new_log) return;
  if (!std::holds_alternative<LoggedSpeed>(old.speed))
    throw Error(Fault::command, "--rpm-log", "is missing", "give the file of the log");
  take.speed = old.speed;
}

TakeSpeed good_speed(const fs::path& folder, Take take, const std::optional<fs::path>& log,
                     std::optional<int> cylinders) {
  if (log) take.speed = LoggedSpeed{.log = fs::absolute(*log).string(), .sha256 = {}};
  return speed_of_take(folder, take, cylinders);
}

/// A log copied into the case, taken away again unless the case was stored.
class CopiedLog {
 public:
  CopiedLog(const fs::path& folder, const std::string& id, const fs::path& from) {
    std::string name = sanitised_name(from.filename().string());
    for (int again = 2; is_taken(folder, path_of(id, name)); ++again)
      name = fmt::format("{}-{}", again, sanitised_name(from.filename().string()));
    speed_.log = path_of(id, name);
    file_ = folder / speed_.log;
    make_folder_of(file_);
    speed_.sha256 = copy_verified(from, file_);
  }
  ~CopiedLog() {
    std::error_code ignored;
    if (!kept_) fs::remove(file_, ignored);
  }
  CopiedLog(const CopiedLog&) = delete;
  CopiedLog& operator=(const CopiedLog&) = delete;
  const LoggedSpeed& speed() const { return speed_; }
  void keep() { kept_ = true; }

 private:
  static std::string path_of(const std::string& id, const std::string& name) {
    return fmt::format("{}/{}-{}", logs_folder, id, name);
  }
  static bool is_taken(const fs::path& folder, const std::string& path) {
    return is_there(folder / path) || is_there(folder / set_aside_folder / path);
  }

  fs::path file_;
  LoggedSpeed speed_;
  bool kept_{};
};

void require_point(Case& value, const NewTake& facts) {
  const std::string& name = facts.take.point;
  if (std::ranges::find(value.points, name, &ProbePoint::name) != value.points.end()) return;
  if (!facts.make_point)
    throw Error(Fault::command, "--point " + name, "is not in this case",
                "choose one of its probe points");
  value.points.push_back({.name = name, .description = {}});
}

}  // namespace

CaseChangedElsewhere::CaseChangedElsewhere(const fs::path& folder)
    : Error(Fault::file, folder.string(), "was changed by another program meanwhile",
            "look at what it holds now, and make the change again if it is still wanted") {}

bool same_case(const Case& a, const Case& b) { return json_of_case(a) == json_of_case(b); }

void exchange_case(const fs::path& folder, const Case& expected, const Case& wanted) {
  const Files before = files_of(expected);
  const Files after = files_of(wanted);
  const FolderLock lock(folder);
  require_unchanged(folder, expected);
  fetch(folder, without(after, before));
  write_case(folder, wanted);
  set_aside(folder, without(before, after));
}

Case taken_out(Case value, const std::string& id) {
  const Take& take = take_named(value, id);
  value.takes.erase(value.takes.begin() + (&take - value.takes.data()));
  return value;
}

ChangedTake change_take(const fs::path& folder, const Case& expected, const std::string& id,
                        const NewTake& facts) {
  ChangedTake changed{.value = expected, .warnings = {}};
  Take& take = take_named(changed.value, id);
  const Take old = take;
  take = with_facts(old, facts.take);
  require_sound_request(take);
  require_channels(take, take.channels, take.recording);
  keep_log(old, take, facts.log.has_value());
  require_point(changed.value, facts);
  require_sound_in_channels(folder / take.recording, take, take.recording);
  TakeSpeed speed = good_speed(folder, take, facts.log, expected.cylinders);
  changed.warnings = std::move(speed.warnings);
  changed.found = std::move(speed.found);
  std::ranges::move(doubts_of_load(take.load), std::back_inserter(changed.warnings));
  if (const auto repeated = repeated_take(expected, take)) changed.warnings.push_back(*repeated);

  const FolderLock lock(folder);
  require_unchanged(folder, expected);
  std::optional<CopiedLog> log;
  if (facts.log) take.speed = log.emplace(folder, id, *facts.log).speed();
  write_case(folder, changed.value);
  if (log) log->keep();
  set_aside(folder, without(files_of(expected), files_of(changed.value)));
  return changed;
}

}  // namespace howl
