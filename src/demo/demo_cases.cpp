#include "src/demo/demo_cases.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <optional>
#include <system_error>
#include <utility>
#include <vector>

#include "src/case/case.h"
#include "src/demo/demo_take.h"
#include "src/demo/truth.h"
#include "src/errors.h"
#include "src/files/descriptor.h"
#include "src/keeping/add_take.h"
#include "src/profile/case_profile.h"

namespace howl {

namespace {

namespace fs = std::filesystem;

/// A folder that disappears again unless it is moved to its place.
class FolderInTheMaking {
 public:
  explicit FolderInTheMaking(fs::path path) : path_(std::move(path)) { remove(); }
  ~FolderInTheMaking() { remove(); }
  FolderInTheMaking(const FolderInTheMaking&) = delete;
  FolderInTheMaking& operator=(const FolderInTheMaking&) = delete;

  const fs::path& path() const { return path_; }
  void move_to(const fs::path& place) const { fs::rename(path_, place); }

 private:
  void remove() const {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  fs::path path_;
};

void write_text(const fs::path& file, const std::string& text) {
  std::ofstream out(file, std::ios::binary);
  out << text;
  out.flush();
  if (!out)
    throw Error(Fault::machine, file.string(), "cannot be written",
                "check the folder and the space on the disk");
}

void refuse_existing(const fs::path& folder) {
  if (is_there(folder))
    throw Error(Fault::command, folder.string(), "is there already",
                "name another folder, or remove this one");
}

std::string log_text(const std::vector<SpeedPoint>& points) {
  std::string text = "time (s),rpm\n";
  for (const SpeedPoint& p : points)
    text += fmt::format("{:.2f},{:.2f}\n", p.time.value, p.speed.value);
  return text;
}

std::string speed_words(const RecipeTakes& plan) {
  const double first = plan.speed.front().speed.value;
  const double last = plan.speed.back().speed.value;
  return plan.speed.size() == 1 ? fmt::format("{:.0f} rpm", first)
                                : fmt::format("{:.0f} to {:.0f} rpm", first, last);
}

std::string file_name(const RecipeTakes& plan, const PlannedTake& planned, std::size_t index,
                      SoundFormat format) {
  std::string point = planned.point;
  for (char& c : point)
    if (c == '/' || c == '\\') c = '-';
  return fmt::format("{:02} {}, {}{}", index + 1, point, speed_words(plan), ending_of(format));
}

SpeedSource speed_source(const RecipeTakes& plan, const DemoTake& take) {
  switch (plan.written) {
    case SpeedWritten::log:
      return LoggedSpeed{};
    case SpeedWritten::tacho:
      return TachoSpeed{2, plan.pulses_per_revolution};
    case SpeedWritten::entered:
      break;
  }
  if (take.written.size() == 1) return EnteredSpeed{take.written.front().speed};
  return EnteredRamp{take.written};
}

void store_take(const Recipe& recipe, const fs::path& case_folder, const fs::path& scratch,
                std::size_t index, const PlannedTake& planned, const DemoTake& take) {
  const RecipeTakes& plan = recipe.takes[planned.entry];
  NewTake request;
  request.recording = scratch / file_name(plan, planned, index, recipe.format);
  write_sound(request.recording, recipe.format, take.sample_rate, take.samples,
              recipe.reference_point ? take.reference : take.tacho);
  if (plan.written == SpeedWritten::log) {
    request.log = fs::path(request.recording).replace_extension(".csv");
    write_text(*request.log, log_text(take.written));
  }
  request.take.point = planned.point;
  request.take.speed = speed_source(plan, take);
  request.take.load = plan.load;
  request.take.road_speed_kmh = plan.road_speed_kmh;
  request.take.background = plan.background;
  if (recipe.reference_point) request.take.reference_channel = 2;
  request.take.note = plan.note;
  request.make_point = true;
  add_take(case_folder, request);
  fs::remove(request.recording);
}

/// The recipe's points where the profile's sketch shows those of the same name.
std::vector<ProbePoint> placed(std::vector<ProbePoint> points,
                               const std::optional<Profile>& profile) {
  if (!profile) return points;
  for (ProbePoint& point : points) {
    const auto known = std::ranges::find(profile->points, point.name, &ProbePoint::name);
    if (known != profile->points.end()) point.place = known->place;
  }
  return points;
}

Case empty_case(const Recipe& recipe, const std::optional<Profile>& profile) {
  Case value;
  value.title = recipe.title;
  value.profile = recipe.profile;
  value.cylinders = recipe.engine.lines.cylinders;
  value.points = placed(recipe.points, profile);
  value.about.complaint = recipe.complaint;
  value.about.vehicle = "invented: " + (profile ? profile->title : recipe.profile);
  value.about.recorded_by = "computed by howlpoint demo";
  return value;
}

/// All that are built in, each followed by what it is after its repair.
std::vector<Recipe> all_recipes() {
  std::vector<Recipe> all;
  std::vector<Recipe> recipes = embedded_recipes();
  for (Recipe& recipe : recipes) {
    std::optional<Recipe> after = repaired(recipe);
    all.push_back(std::move(recipe));
    if (after) all.push_back(std::move(*after));
  }
  return all;
}

}  // namespace

void make_demo_case(const Recipe& recipe, const fs::path& case_folder,
                    const DemoProgress& progress) {
  refuse_existing(case_folder);
  const fs::path parent = case_folder.parent_path();
  const fs::path name = case_folder.filename();
  const FolderInTheMaking made(parent / fs::path(".").concat(name.native()).concat(".making"));
  const FolderInTheMaking scratch(parent / fs::path(".").concat(name.native()).concat(".audio"));
  fs::create_directories(scratch.path());

  const auto profile = built_in_profile(recipe.profile);
  create_case(made.path(), empty_case(recipe, profile), profile ? profile->toml : "");
  const std::vector<PlannedTake> plan = planned_takes(recipe);
  std::vector<TakeTruth> truths;
  for (std::size_t i = 0; i < plan.size(); ++i) {
    if (progress) progress(recipe.name, i, plan.size());
    const DemoTake take = synthesise_take(recipe, i, recipe.seed);
    store_take(recipe, made.path(), scratch.path(), i, plan[i], take);
    truths.push_back(truth_of(take, plan[i]));
  }
  const Case stored = load_case(made.path());
  for (std::size_t i = 0; i < truths.size(); ++i) truths[i].id = stored.takes.at(i).id;
  write_text(made.path() / "truth.json", truth_json(recipe, truths));
  write_text(made.path() / "complaint.txt", recipe.complaint + "\n");
  made.move_to(case_folder);
  if (progress) progress(recipe.name, plan.size(), plan.size());
}

void make_demo_cases(const fs::path& folder, const DemoProgress& progress) {
  const std::vector<Recipe> recipes = all_recipes();
  for (const Recipe& recipe : recipes) refuse_existing(folder / recipe.name);
  try {
    fs::create_directories(folder);
    for (const Recipe& recipe : recipes) make_demo_case(recipe, folder / recipe.name, progress);
  } catch (const fs::filesystem_error& error) {
    throw Error(Fault::machine, folder.string(), error.code().message(),
                "check the folder and the space on the disk");
  }
}

}  // namespace howl
