#include "src/keeping/unfinished_take.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>

#include <algorithm>
#include <cerrno>
#include <numeric>
#include <optional>
#include <system_error>
#include <utility>

#include "src/audio/growing_wav.h"
#include "src/audio/survey.h"
#include "src/case/case_folder.h"
#include "src/case/case_json.h"
#include "src/case/take_rules.h"
#include "src/errors.h"
#include "src/files/descriptor.h"
#include "src/files/durable_file.h"
#include "src/files/folder_lock.h"
#include "src/files/read_file.h"
#include "src/keeping/add_take.h"

namespace howl {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t largest_plan_bytes = 16'000'000;
constexpr std::string_view interrupted = "recording was interrupted";

// ---- the plan ----

std::string plan_text(Take take, bool make_point) {
  take.id = "planned";
  take.sha256 = std::string(64, '0');
  take.frames = 1;
  Case plan;
  if (make_point) plan.points.push_back({.name = take.point, .description = {}});
  plan.takes.push_back(std::move(take));
  return json_of_case(plan);
}

struct Plan {
  Take take;
  bool make_point{};
};

Plan read_plan(const fs::path& file) {
  const Case plan = case_of_json(read_text_file(file, largest_plan_bytes), file.string());
  if (plan.takes.size() != 1)
    throw Error(Fault::file, file.string(), "does not plan one take",
                "add the recording beside it with 'add'");
  return {.take = plan.takes.front(), .make_point = !plan.points.empty()};
}

/// The lock that says that a program is recording, if no living one holds it.
std::optional<Descriptor> lock_of(const fs::path& file) {
  Descriptor opened(::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666));
  if (opened.get() < 0) throw system_error(file, "cannot be opened", errno);
  if (::flock(opened.get(), LOCK_EX | LOCK_NB) == 0) return opened;
  if (errno == EWOULDBLOCK) return std::nullopt;
  throw system_error(file, "cannot be locked", errno);
}

/// A name for the recording of a point that nothing in the case has.
std::string free_stem(const fs::path& folder, const std::string& point) {
  const std::string stem = sanitised_name(point);
  for (int n = 1;; ++n) {
    std::string name = n == 1 ? stem : fmt::format("{}-{}", stem, n);
    const fs::path base = folder / unfinished_folder / name;
    const auto is_free = [&](std::string_view ending) {
      return !is_there(fmt::format("{}{}", base.string(), ending));
    };
    if (is_free(".wav") && is_free(".json") && is_free(".lock")) return name;
  }
}

void make_unfinished_folder(const fs::path& folder) {
  std::error_code problem;
  fs::create_directories(folder / unfinished_folder, problem);
  if (problem) throw system_error(folder / unfinished_folder, "cannot be made", problem.value());
}

/// The folder goes with the last recording in it.
void remove_if_empty(const fs::path& folder) {
  std::error_code ignored;
  fs::remove(folder / unfinished_folder, ignored);
}

// ---- mending ----

std::vector<fs::path> files_in(const fs::path& folder, std::string_view ending) {
  std::vector<fs::path> files;
  std::error_code none;
  for (const auto& entry : fs::directory_iterator(folder / unfinished_folder, none))
    if (entry.path().extension() == ending) files.push_back(entry.path());
  std::ranges::sort(files);
  return files;
}

fs::path with_ending(fs::path file, std::string_view ending) {
  return file.replace_extension(ending);
}

std::string noted(const std::string& note) {
  return note.empty() ? std::string(interrupted) : fmt::format("{}; {}", note, interrupted);
}

void remove_all_of(const fs::path& plan) {
  std::error_code ignored;
  for (const std::string_view ending : {".wav", ".json", ".lock"})
    fs::remove(with_ending(plan, ending), ignored);
}

/// A recording that was moved to the others but never entered in the case comes back.
void bring_back(const fs::path& folder, const fs::path& recording) {
  const Case value = load_case(folder);
  const std::string ending = "-" + recording.filename().string();
  std::error_code none;
  for (const auto& entry : fs::directory_iterator(folder / recordings_folder, none)) {
    const std::string name = entry.path().filename().string();
    const std::string inside = fmt::format("{}/{}", recordings_folder, name);
    if (name.ends_with(ending) && name.find('-') == name.size() - ending.size() &&
        std::ranges::find(value.takes, inside, &Take::recording) == value.takes.end())
      return move_durably(entry.path(), recording);
  }
}

bool all_silent(const fs::path& recording, int channels) {
  std::vector<int> all(static_cast<std::size_t>(channels));
  std::iota(all.begin(), all.end(), 1);
  return std::ranges::all_of(survey_channels(recording, all), &ChannelSurvey::constant);
}

Take take_from(const fs::path& folder, const fs::path& plan) {
  Plan read = read_plan(plan);
  read.take.note = noted(read.take.note);
  read.take.added.clear();
  return add_take(folder, {.recording = with_ending(plan, ".wav"),
                           .log = std::nullopt,
                           .take = std::move(read.take),
                           .make_point = read.make_point,
                           .move_recording = true})
      .take;
}

/// Makes a take of what is there, or deletes it where it is worth none; says which.
std::string settle(const fs::path& folder, const fs::path& plan, const fs::path& recording) {
  const MendedWav mended = mend_wav(recording);
  if (static_cast<double>(mended.frames) < shortest_take_seconds * mended.layout.sample_rate)
    return "was not finished, and holds less than half a second; deleted";
  try {
    const Take take = take_from(folder, plan);
    return fmt::format("was not finished; kept as {}, {:.1f} s at '{}'", take.id,
                       static_cast<double>(take.frames) / take.sample_rate, take.point);
  } catch (const Error& refusal) {
    if (refusal.fault() != Fault::file || !all_silent(recording, mended.layout.channels)) throw;
    return "was not finished, and holds nothing but digital silence; deleted";
  }
}

/// None: it had become a take already.
std::optional<Mending> mend(const fs::path& folder, const fs::path& plan) {
  const fs::path recording = with_ending(plan, ".wav");
  Mending mending{.recording = recording.string(), .outcome = {}};
  try {
    if (!is_there(recording)) bring_back(folder, recording);
    if (!is_there(recording)) {
      remove_all_of(plan);
      return std::nullopt;
    }
    mending.outcome = settle(folder, plan, recording);
    remove_all_of(plan);
    mending.settled = true;
  } catch (const Error& error) {
    mending.outcome =
        fmt::format("was not finished, and cannot be made a take: {}, {}; {}; or delete it",
                    error.where(), error.problem(), error.remedy());
  }
  return mending;
}

}  // namespace

UnfinishedTake::UnfinishedTake(fs::path folder, Take planned, bool make_point)
    : folder_(std::move(folder)), take_(std::move(planned)), make_point_(make_point), lock_(-1) {
  // Two programs that begin at once must not choose the same name.
  const FolderLock alone(folder_);
  make_unfinished_folder(folder_);
  const std::string stem = free_stem(folder_, take_.point);
  recording_ = folder_ / unfinished_folder / (stem + ".wav");
  plan_ = folder_ / unfinished_folder / (stem + ".json");
  lock_file_ = folder_ / unfinished_folder / (stem + ".lock");
  take_.recording = fmt::format("{}/{}.wav", unfinished_folder, stem);
  auto locked = lock_of(lock_file_);
  if (!locked)
    throw Error(Fault::machine, lock_file_.string(), "is held by another program", "try again");
  lock_ = *std::move(locked);
  write_plan();
}

UnfinishedTake::UnfinishedTake(UnfinishedTake&&) noexcept = default;
UnfinishedTake::~UnfinishedTake() = default;

Take UnfinishedTake::so_far() const { return take_; }

void UnfinishedTake::write_plan() const { replace_file(plan_, plan_text(take_, make_point_)); }

void UnfinishedTake::note_overruns(const std::vector<Overrun>& overruns) {
  take_.overruns = overruns;
  write_plan();
}

bool UnfinishedTake::is_silent() const { return all_silent(recording_, take_.channels); }

AddedTake UnfinishedTake::keep() {
  Take take = take_;
  take.recording.clear();
  AddedTake added = add_take(folder_, {.recording = recording_,
                                       .log = std::nullopt,
                                       .take = std::move(take),
                                       .make_point = make_point_,
                                       .move_recording = true});
  discard();  // of what is left, which is not the recording
  return added;
}

void UnfinishedTake::discard() {
  remove_all_of(plan_);
  remove_if_empty(folder_);
}

std::vector<Mending> mend_unfinished(const fs::path& folder) {
  std::vector<Mending> mendings;
  if (!is_there(folder / unfinished_folder)) return mendings;
  for (const fs::path& plan : files_in(folder, ".json")) {
    std::optional<Descriptor> lock;
    {
      const FolderLock alone(folder);
      if (is_there(plan)) lock = lock_of(with_ending(plan, ".lock"));
    }
    if (!lock) continue;
    if (auto mending = mend(folder, plan)) mendings.push_back(*std::move(mending));
  }
  for (const fs::path& recording : files_in(folder, ".wav"))
    if (!is_there(with_ending(recording, ".json")))
      mendings.push_back({.recording = recording.string(),
                          .outcome = "belongs to no take; add it with 'add', or delete it"});
  remove_if_empty(folder);
  return mendings;
}

}  // namespace howl
