#include "src/handover/check_manifest.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <system_error>

#include "src/case/case_folder.h"
#include "src/errors.h"
#include "src/files/read_file.h"
#include "src/files/sha256.h"
#include "src/keeping/check_case.h"
#include "src/lower_case.h"

namespace howl::handover {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_report_bytes = std::size_t{256} << 20U;
constexpr std::size_t most_reports_looked_at = 200;

/// Hashes of the files of a case folder as they are now, each made once.
class HashesNow {
 public:
  explicit HashesNow(fs::path folder) : folder_(std::move(folder)) {}

  /// None where the file is missing or cannot be read.
  const std::optional<std::string>& of(const std::string& path) {
    const auto [place, is_new] = hashes_.try_emplace(path);
    if (!is_new) return place->second;
    try {
      place->second = sha256_of_file(folder_ / path);
    } catch (const Error&) {
      place->second.reset();
    }
    return place->second;
  }

 private:
  fs::path folder_;
  std::map<std::string, std::optional<std::string>> hashes_;
};

std::size_t files_that_fit(const ManifestCase& value, HashesNow& now) {
  return static_cast<std::size_t>(std::ranges::count_if(
      value.files, [&](const ManifestFile& file) { return now.of(file.path) == file.sha256; }));
}

const ManifestCase& best_fit(const Manifest& manifest, HashesNow& now) {
  return *std::ranges::max_element(
      manifest.cases, {}, [&](const ManifestCase& value) { return files_that_fit(value, now); });
}

std::string name_of(const fs::path& folder, const ManifestFile& file) {
  const std::string path = (folder / file.path).string();
  return file.take.empty() ? path : fmt::format("take {}, {}", file.take, path);
}

/// Whose bytes a file holds now, if another file of the manifest had them.
const ManifestFile* former_place(const ManifestCase& value, const std::string& sha256) {
  const auto found = std::ranges::find(value.files, sha256, &ManifestFile::sha256);
  return found == value.files.end() ? nullptr : &*found;
}

std::optional<CaseFinding> finding_about(const fs::path& folder, const ManifestFile& file,
                                         const ManifestCase& value, HashesNow& now,
                                         const std::string& report) {
  const std::optional<std::string>& hash = now.of(file.path);
  if (hash == file.sha256) return std::nullopt;
  if (!hash)
    return CaseFinding{name_of(folder, file), fmt::format("is missing, but {} rests on it", report),
                       "restore it from a copy"};
  if (const ManifestFile* other = former_place(value, *hash))
    return CaseFinding{
        name_of(folder, file),
        fmt::format("was swapped: it holds what {} held when {} was made", other->path, report),
        "restore both from a copy"};
  return CaseFinding{name_of(folder, file), fmt::format("was changed since {} was made", report),
                     "restore it from a copy, or make the report anew"};
}

std::vector<std::string> kept_files(const fs::path& folder) {
  std::vector<std::string> paths;
  for (const std::string_view part : {recordings_folder, logs_folder}) {
    std::error_code none;
    for (const auto& entry : fs::directory_iterator(folder / part, none))
      paths.push_back(std::string(part) + "/" + entry.path().filename().string());
  }
  std::ranges::sort(paths);
  return paths;
}

bool is_report_name(const fs::path& file) {
  const std::string ending = lower_case(file.extension().string());
  return ending == ".pdf" || ending == ".html" || ending == ".htm";
}

std::vector<fs::path> candidates_in(const fs::path& folder) {
  std::vector<fs::path> files;
  std::error_code none;
  for (const auto& entry : fs::directory_iterator(folder, none)) {
    std::error_code ignored;
    if (files.size() < most_reports_looked_at && entry.is_regular_file(ignored) &&
        is_report_name(entry.path()))
      files.push_back(entry.path());
  }
  return files;
}

bool is_about(const fs::path& file, HashesNow& now) {
  try {
    const Manifest manifest = manifest_of_report(file);
    return std::ranges::any_of(manifest.cases, [&](const ManifestCase& value) {
      return std::ranges::any_of(value.files, [&](const ManifestFile& each) {
        return each.path != profile_file_name && now.of(each.path) == each.sha256;
      });
    });
  } catch (const Error&) {
    return false;  // somebody else's file
  }
}

}  // namespace

Manifest manifest_of_report(const fs::path& report) {
  const auto manifest = manifest_inside(read_text_file(report, largest_report_bytes));
  if (!manifest)
    throw Error(Fault::file, report.string(), "is no report of this program: it has no manifest",
                "name a .pdf or .html that howlpoint report wrote");
  Manifest whole = manifest_of_json(*manifest, report.string());
  if (whole.cases.empty())
    throw Error(Fault::file, report.string(), "its manifest names no case", "make the report anew");
  return whole;
}

std::vector<CaseFinding> check_manifest(const fs::path& folder, const Manifest& manifest,
                                        const std::string& report) {
  HashesNow now(folder);
  const ManifestCase& value = best_fit(manifest, now);
  std::vector<CaseFinding> findings;
  std::set<std::string> known;
  for (const ManifestFile& file : value.files) {
    known.insert(file.path);
    if (auto finding = finding_about(folder, file, value, now, report))
      findings.push_back(*std::move(finding));
  }
  for (const std::string& path : kept_files(folder))
    if (!known.contains(path))
      findings.push_back({(folder / path).string(),
                          fmt::format("was not there when {} was made", report),
                          "make the report anew, or move the file away"});
  return findings;
}

std::vector<fs::path> reports_near(const fs::path& folder) {
  std::vector<fs::path> files = candidates_in(folder);
  std::ranges::move(candidates_in(fs::absolute(folder).lexically_normal() / ".."),
                    std::back_inserter(files));
  HashesNow now(folder);
  std::erase_if(files, [&](const fs::path& file) { return !is_about(file, now); });
  std::ranges::sort(files, {}, [](const fs::path& file) { return file.filename(); });
  return files;
}

}  // namespace howl::handover
