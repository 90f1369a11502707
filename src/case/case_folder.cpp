#include "src/case/case_folder.h"

#include <fmt/chrono.h>

#include <ctime>
#include <system_error>

#include "src/case/case_json.h"
#include "src/errors.h"
#include "src/files/descriptor.h"
#include "src/files/durable_file.h"
#include "src/files/folder_lock.h"
#include "src/files/read_file.h"
#include "src/files/sha256.h"

namespace howl {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t largest_case_bytes = 64'000'000;

void require_case(const fs::path& folder) {
  std::error_code problem;
  if (fs::exists(folder / case_file_name, problem)) return;
  if (problem && problem != std::errc::not_a_directory)
    throw system_error(folder, "cannot be looked into", problem.value());
  const bool there = fs::exists(folder, problem);
  throw Error(Fault::file, folder.string(),
              there ? "holds no case (there is no case.json in it)" : "there is no such folder",
              "give the folder of a case, or make one with 'new'");
}

void make_folder(const fs::path& folder) {
  std::error_code problem;
  fs::create_directories(folder, problem);
  if (problem) throw system_error(folder, "cannot be made", problem.value());
}

/// Returns its hash. A profile that lies in the folder already is kept, if it is the same.
std::string keep_profile(const fs::path& folder, std::string_view toml) {
  const fs::path file = folder / profile_file_name;
  const std::string hash = sha256_of_text(toml);
  if (!is_there(file))
    replace_file(file, toml);
  else if (sha256_of_file(file) != hash)
    throw Error(Fault::command, file.string(), "is there already, and is another profile",
                "give another folder for the case, or move that file away");
  return hash;
}

/// Takes away a folder that was made for a case that could not be written.
class FolderRollback {
 public:
  explicit FolderRollback(fs::path folder)
      : folder_(std::move(folder)), was_there_(is_there(folder_)) {}
  ~FolderRollback() {
    std::error_code ignored;
    if (!kept_ && !was_there_) fs::remove_all(folder_, ignored);
  }
  FolderRollback(const FolderRollback&) = delete;
  FolderRollback& operator=(const FolderRollback&) = delete;
  void keep() { kept_ = true; }

 private:
  fs::path folder_;
  bool was_there_;
  bool kept_{};
};

}  // namespace

std::string now_as_text() {
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(std::time(nullptr)));
}

void write_case(const fs::path& folder, const Case& value) {
  const fs::path file = folder / case_file_name;
  const std::string text = json_of_case(value);
  case_of_json(text, file.string());
  replace_file(file, text);
}

Case load_case(const fs::path& folder) {
  require_case(folder);
  const fs::path file = folder / case_file_name;
  return case_of_json(read_text_file(file, largest_case_bytes), file.string());
}

void save_case(const fs::path& folder, const Case& value) {
  update_case(folder, [&](Case& stored) { stored = value; });
}

void update_case(const fs::path& folder, const std::function<void(Case&)>& change) {
  require_case(folder);
  const FolderLock lock(folder);
  Case value = load_case(folder);
  change(value);
  write_case(folder, value);
}

void create_case(const fs::path& folder, const Case& value, std::string_view profile_toml) {
  FolderRollback rollback(folder);
  make_folder(folder);
  const FolderLock lock(folder);
  if (is_there(folder / case_file_name))
    throw Error(Fault::command, folder.string(), "holds a case already",
                "give another folder, or add takes to this one");
  make_folder(folder / recordings_folder);
  make_folder(folder / logs_folder);
  Case made = value;
  if (made.created.empty()) made.created = now_as_text();
  if (!profile_toml.empty()) made.profile_sha256 = keep_profile(folder, profile_toml);
  write_case(folder, made);
  rollback.keep();
}

}  // namespace howl
