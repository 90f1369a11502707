#include "src/keeping/add_take.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <iterator>
#include <system_error>
#include <utility>

#include "src/audio/recording.h"
#include "src/case/case.h"
#include "src/case/case_folder.h"
#include "src/case/take_rules.h"
#include "src/errors.h"
#include "src/files/descriptor.h"
#include "src/files/durable_file.h"
#include "src/files/folder_lock.h"
#include "src/files/sha256.h"
#include "src/keeping/exchange_case.h"
#include "src/keeping/heard_channels.h"
#include "src/profile/load_tests.h"
#include "src/speed/speed_of_take.h"

namespace howl {

namespace fs = std::filesystem;

namespace {

// ---- the request against the case ----

bool has_point(const Case& value, const std::string& name) {
  return std::ranges::find(value.points, name, &ProbePoint::name) != value.points.end();
}

void require_point(const Case& value, const NewTake& request) {
  if (request.make_point || has_point(value, request.take.point)) return;
  std::vector<std::string> names;
  for (const ProbePoint& point : value.points) names.push_back(fmt::format("'{}'", point.name));
  throw Error(Fault::command, fmt::format("probe point '{}'", request.take.point),
              "is not in this case",
              fmt::format("use one of {}; or ask for a new point", fmt::join(names, ", ")));
}

void require_log_if_logged(const NewTake& request) {
  const bool logged = std::holds_alternative<LoggedSpeed>(request.take.speed);
  if (logged == request.log.has_value()) return;
  throw Error(Fault::command, "speed log",
              logged ? "is missing" : "is given, but the speed comes from elsewhere",
              "give a log file if and only if the speed is logged");
}

// ---- the recording ----

void require_long_enough(const RecordingFormat& format, const std::string& file) {
  if (format.seconds() >= shortest_take_seconds) return;
  throw Error(Fault::file, file,
              fmt::format("lasts only {:.4f} s; at least {:g} s are needed", format.seconds(),
                          shortest_take_seconds),
              "record for some ten seconds");
}

/// A take whose files are still where the user has them.
struct Candidate {
  Take take;
  std::vector<std::string> warnings;
  std::optional<FoundSpeed> found{};
};

/// Fills in what the recording says of itself; throws if it cannot be used.
Candidate examine(const NewTake& request) {
  const std::string file = request.recording.string();
  const RecordingFormat format = Recording(request.recording).format();
  require_long_enough(format, file);
  require_channels(request.take, format.channels, file);

  Candidate candidate{.take = request.take, .warnings = {}};
  Take& take = candidate.take;
  take.sample_rate = format.sample_rate;
  take.frames = format.frames;
  take.channels = format.channels;
  take.original_name = request.recording.filename().string();
  require_sound_in_channels(request.recording, take, file);
  return candidate;
}

void examine_speed(const NewTake& request, std::optional<int> cylinders, Candidate& candidate) {
  Take in_place = candidate.take;
  in_place.recording = fs::absolute(request.recording).string();
  if (auto* logged = std::get_if<LoggedSpeed>(&in_place.speed))
    logged->log = fs::absolute(*request.log).string();
  const TakeSpeed speed = speed_of_take({}, in_place, cylinders);
  candidate.found = speed.found;
  candidate.warnings.insert(candidate.warnings.end(), speed.warnings.begin(), speed.warnings.end());
}

// ---- storing ----

/// The number in "t07" or "t07-name", or 0.
int take_number(std::string_view id) {
  int number{};
  if (!id.starts_with('t')) return 0;
  const auto [end, problem] = std::from_chars(id.data() + 1, id.data() + id.size(), number);
  const bool ends = end == id.data() + id.size() || *end == '-';
  return problem == std::errc{} && ends ? number : 0;
}

int highest_number_of_files(const fs::path& folder) {
  int highest = 0;
  std::error_code none;
  for (const auto& entry : fs::directory_iterator(folder, none))
    highest = std::max(highest, take_number(entry.path().filename().string()));
  return highest;
}

/// Above every take and every file there, so that nothing is ever overwritten.
std::string next_id(const fs::path& folder, const Case& value) {
  int highest = std::max(highest_number_of_files(folder / recordings_folder),
                         highest_number_of_files(folder / logs_folder));
  const fs::path aside = folder / set_aside_folder;
  highest = std::max({highest, highest_number_of_files(aside / recordings_folder),
                      highest_number_of_files(aside / logs_folder)});
  for (const Take& take : value.takes) highest = std::max(highest, take_number(take.id));
  return fmt::format("t{:02}", highest + 1);
}

/// Files brought into the case, taken away again, or back, unless the take was stored.
class Copies {
 public:
  explicit Copies(fs::path folder) : folder_(std::move(folder)) {}
  ~Copies() {
    std::error_code ignored;
    if (kept_) return;
    for (const fs::path& file : files_) fs::remove(file, ignored);
    if (moved_) fs::rename(moved_->second, moved_->first, ignored);
  }
  Copies(const Copies&) = delete;
  Copies& operator=(const Copies&) = delete;

  struct Stored {
    std::string path;  ///< inside the case folder
    std::string sha256;
  };
  /// Copies `from`, which must still be the file whose hash is `examined`.
  Stored add(const fs::path& from, std::string_view into, const std::string& id,
             const std::string& examined) {
    make_folder(folder_ / into);
    const std::string path =
        fmt::format("{}/{}-{}", into, id, sanitised_name(from.filename().string()));
    Stored stored{.path = path, .sha256 = copy_verified(from, folder_ / path)};
    files_.push_back(folder_ / path);
    if (stored.sha256 != examined)
      throw Error(Fault::file, from.string(), "changed while it was being added",
                  "stop the program that writes to it, then add it again");
    return stored;
  }
  /// Moves `from` instead, whose hash is known; nobody else writes to it.
  Stored move(const fs::path& from, std::string_view into, const std::string& id,
              const std::string& sha256) {
    make_folder(folder_ / into);
    std::string path = fmt::format("{}/{}-{}", into, id, sanitised_name(from.filename().string()));
    move_durably(from, folder_ / path);
    moved_ = {from, folder_ / path};
    return {.path = std::move(path), .sha256 = sha256};
  }
  void keep() { kept_ = true; }

 private:
  static void make_folder(const fs::path& folder) {
    std::error_code problem;
    fs::create_directories(folder, problem);
    if (problem) throw system_error(folder, "cannot be made", problem.value());
  }

  fs::path folder_;
  std::vector<fs::path> files_;
  std::optional<std::pair<fs::path, fs::path>> moved_;  ///< from, to
  bool kept_{};
};

// ---- a recording that is there already ----

/// But for the note, which changes nothing of what is found.
bool said_alike(const Take& a, const Take& b) {
  return a.point == b.point && a.channel == b.channel &&
         a.reference_channel == b.reference_channel && a.speed == b.speed && a.load == b.load &&
         a.road_speed_kmh == b.road_speed_kmh && a.background == b.background;
}

/// The same sound twice at one point and speed would count twice; which is wrong of two that
/// differ, only the user knows.
void require_new(const Case& value, const Take& take, const std::string& recording) {
  for (const Take& other : value.takes)
    if (other.sha256 == take.sha256 && said_alike(other, take))
      throw Error(Fault::command, recording,
                  fmt::format("is in the case already, as {} at '{}', with the same speed and load",
                              other.id, other.point),
                  fmt::format("there is nothing to add; {} can be put right with 'change', or "
                              "taken out with 'remove'",
                              other.id));
}

}  // namespace

std::optional<std::string> repeated_take(const Case& value, const Take& take) {
  const auto same = std::ranges::find_if(value.takes, [&](const Take& other) {
    return other.id != take.id && other.sha256 == take.sha256 && other.channel == take.channel;
  });
  if (same == value.takes.end()) return std::nullopt;
  return fmt::format(
      "the same channel of the same recording is in the case already, as {} at '{}', and one "
      "recording that counts twice misleads; put the wrong one right with 'change', or take it out "
      "with 'remove'",
      same->id, same->point);
}

AddedTake add_take(const fs::path& folder, const NewTake& request) {
  require_sound_request(request.take);
  require_log_if_logged(request);
  const Case before = load_case(folder);
  require_point(before, request);
  const std::string recording_hash = sha256_of_file(request.recording);
  const std::string log_hash = request.log ? sha256_of_file(*request.log) : std::string{};
  Candidate candidate = examine(request);
  examine_speed(request, before.cylinders, candidate);

  const FolderLock lock(folder);
  Case value = load_case(folder);
  require_point(value, request);
  Take& take = candidate.take;
  take.sha256 = recording_hash;
  if (auto* logged = std::get_if<LoggedSpeed>(&take.speed)) logged->sha256 = log_hash;
  // What was just recorded must not be lost for it: a warning does.
  if (!request.move_recording) require_new(value, take, request.recording.string());
  take.id = next_id(folder, value);
  if (take.added.empty()) take.added = now_as_text();

  Copies copies(folder);
  const auto recording =
      request.move_recording
          ? copies.move(request.recording, recordings_folder, take.id, recording_hash)
          : copies.add(request.recording, recordings_folder, take.id, recording_hash);
  take.recording = recording.path;
  take.sha256 = recording.sha256;
  if (request.log) {
    const auto log = copies.add(*request.log, logs_folder, take.id, log_hash);
    take.speed = LoggedSpeed{.log = log.path, .sha256 = log.sha256};
  }
  std::ranges::move(doubts_of_load(take.load), std::back_inserter(candidate.warnings));
  if (const auto repeated = repeated_take(value, take)) candidate.warnings.push_back(*repeated);
  if (!has_point(value, take.point))
    value.points.push_back({.name = take.point, .description = {}});
  value.takes.push_back(take);
  write_case(folder, value);
  copies.keep();
  return {.take = std::move(candidate.take),
          .warnings = std::move(candidate.warnings),
          .found = std::move(candidate.found)};
}

}  // namespace howl
