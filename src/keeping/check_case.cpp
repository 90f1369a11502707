#include "src/keeping/check_case.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <set>
#include <system_error>

#include "src/audio/recording.h"
#include "src/case/case.h"
#include "src/case/case_folder.h"
#include "src/case/take_rules.h"
#include "src/errors.h"
#include "src/files/sha256.h"
#include "src/speed/speed_of_take.h"

namespace howl {

namespace fs = std::filesystem;

namespace {

using Findings = std::vector<CaseFinding>;

/// What `look` complains of, as a finding about a take.
template <class Look>
std::optional<CaseFinding> complaint(const std::string& id, Look look) {
  try {
    look();
    return std::nullopt;
  } catch (const Error& error) {
    return CaseFinding{.where = fmt::format("take {}, {}", id, error.where()),
                       .problem = error.problem(),
                       .remedy = error.remedy()};
  }
}

void require_hash(const fs::path& folder, const std::string& path, const std::string& sha256) {
  const fs::path file = folder / path;
  if (sha256_of_file(file) == sha256) return;
  throw Error(Fault::file, file.string(), "was changed since it was added",
              "restore it from a copy, or add it again as a new take");
}

void require_noted_format(const Take& take, const RecordingFormat& format, const fs::path& file) {
  if (format.sample_rate == take.sample_rate && format.frames == take.frames &&
      format.channels == take.channels)
    return;
  throw Error(
      Fault::file, file.string(),
      fmt::format("has {} channels, {} samples at {:g} Hz, but the case notes {}, {}, {:g} Hz",
                  format.channels, format.frames, format.sample_rate, take.channels, take.frames,
                  take.sample_rate),
      "restore case.json from a copy, or add the recording again");
}

void require_recording(const fs::path& folder, const Take& take) {
  const fs::path file = folder / take.recording;
  require_hash(folder, take.recording, take.sha256);
  const Recording recording(file);
  require_noted_format(take, recording.format(), file);
  require_channels(take, recording.format().channels, file.string());
}

void require_log(const fs::path& folder, const Take& take) {
  if (const auto* logged = std::get_if<LoggedSpeed>(&take.speed))
    require_hash(folder, logged->log, logged->sha256);
}

Findings check_take(const fs::path& folder, const Case& value, const Take& take) {
  Findings findings;
  const auto note = [&](const std::optional<CaseFinding>& finding) {
    if (finding) findings.push_back(*finding);
  };
  if (std::ranges::find(value.points, take.point, &ProbePoint::name) == value.points.end())
    findings.push_back({.where = "take " + take.id,
                        .problem = fmt::format("its point '{}' is not in the case", take.point),
                        .remedy = "add the point to case.json, or correct its name there"});
  note(complaint(take.id, [&] { require_sound_request(take); }));
  note(complaint(take.id, [&] { require_recording(folder, take); }));
  note(complaint(take.id, [&] { require_log(folder, take); }));
  if (findings.empty())
    note(complaint(take.id, [&] { speed_of_take(folder, take, value.cylinders); }));
  return findings;
}

std::set<fs::path> files_of(const fs::path& folder, const Case& value) {
  std::set<fs::path> files;
  const auto add = [&](const std::string& path) {
    files.insert((folder / path).lexically_normal());
  };
  for (const Take& take : value.takes) {
    add(take.recording);
    if (const auto* logged = std::get_if<LoggedSpeed>(&take.speed)) add(logged->log);
  }
  return files;
}

Findings check_left_over_files(const fs::path& folder, const Case& value) {
  const std::set<fs::path> known = files_of(folder, value);
  Findings findings;
  for (const std::string_view part : {recordings_folder, logs_folder}) {
    std::error_code none;
    for (const auto& entry : fs::directory_iterator(folder / part, none))
      if (!known.contains(entry.path().lexically_normal()))
        findings.push_back({.where = entry.path().string(),
                            .problem = "belongs to no take",
                            .remedy = "add it as a take, or move it out of the case"});
  }
  std::ranges::sort(findings, {}, &CaseFinding::where);
  return findings;
}

Findings check_profile(const fs::path& folder, const Case& value) {
  if (!value.profile_sha256) return {};
  const fs::path file = folder / profile_file_name;
  try {
    if (sha256_of_file(file) == *value.profile_sha256) return {};
  } catch (const Error& error) {
    return {{.where = error.where(), .problem = error.problem(), .remedy = error.remedy()}};
  }
  return {{.where = file.string(),
           .problem = "was changed since the case was made",
           .remedy = "restore it from a copy, or begin a new case with the changed profile"}};
}

Findings check_loaded(const fs::path& folder, const Case& value) {
  Findings findings = check_profile(folder, value);
  for (const Take& take : value.takes) {
    Findings of_take = check_take(folder, value, take);
    std::ranges::move(of_take, std::back_inserter(findings));
  }
  std::ranges::move(check_left_over_files(folder, value), std::back_inserter(findings));
  return findings;
}

}  // namespace

Findings check_case(const fs::path& folder) {
  Case value;
  try {
    value = load_case(folder);
  } catch (const Error& error) {
    return {{.where = error.where(), .problem = error.problem(), .remedy = error.remedy()}};
  }
  return check_loaded(folder, value);
}

}  // namespace howl
