#include "src/handover/pack.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <system_error>

#include "src/case/case.h"
#include "src/case/case_folder.h"
#include "src/case/take_rules.h"
#include "src/errors.h"
#include "src/files/descriptor.h"
#include "src/files/new_folder.h"
#include "src/files/part_file.h"
#include "src/files/sha256.h"
#include "src/handover/manifest.h"
#include "src/handover/zip_file.h"
#include "src/keeping/check_case.h"
#include "src/version.h"

namespace howl::handover {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t longest_name = 255;
constexpr std::size_t largest_manifest_bytes = std::size_t{64} << 20U;

void require_whole_case(const fs::path& folder) {
  const std::vector<CaseFinding> findings = check_case(folder);
  if (findings.empty()) return;
  const CaseFinding& first = findings.front();
  throw Error(Fault::file, first.where, first.problem,
              first.remedy + "; a case must be whole to be packed");
}

Error damaged(const fs::path& file, const std::string& how) {
  return {Fault::file, file.string(), how, "nothing was unpacked; take another copy of it"};
}

/// One part of a path, as a case has them: no control characters, nothing hidden, no way out.
bool is_plain_name(std::string_view name) {
  return !name.empty() && name.size() <= longest_name && name.front() != '.' &&
         std::ranges::none_of(name, [](char c) {
           return c == '/' || c == '\\' || static_cast<unsigned char>(c) < 0x20 || c == 0x7F;
         });
}

bool is_name_of_case(std::string_view name) {
  if (name == packed_manifest_name || name == case_file_name || name == profile_file_name)
    return true;
  for (const std::string_view part : {recordings_folder, logs_folder})
    if (name.starts_with(part) && name.substr(part.size()).starts_with('/'))
      return is_plain_name(name.substr(part.size() + 1));
  return false;
}

/// What is inside, by name, if all of it may be unpacked.
std::map<std::string, std::size_t> contents_of(const ZipReader& zip, const fs::path& file,
                                               const UnpackLimits& limits) {
  if (zip.count() > limits.files)
    throw damaged(file, fmt::format("holds more than {} files", limits.files));
  std::map<std::string, std::size_t> contents;
  std::uint64_t all = 0;
  for (std::size_t i = 0; i < zip.count(); ++i) {
    const ZipEntry entry = zip.entry(i);
    if (!is_name_of_case(entry.name))
      throw damaged(file, "holds a file that no case has: '" + entry.name.substr(0, 80) + "'");
    if (!entry.plain) throw damaged(file, "'" + entry.name + "' is no ordinary file");
    if (!contents.emplace(entry.name, i).second)
      throw damaged(file, "holds '" + entry.name + "' twice");
    if (entry.bytes > limits.file_bytes || limits.all_bytes - all < entry.bytes)
      throw damaged(file, "holds more than is allowed");
    all += entry.bytes;
  }
  return contents;
}

std::string text_inside(const ZipReader& zip, std::size_t index, const fs::path& file) {
  std::string text;
  zip.read(index, [&](std::span<const std::byte> bytes) {
    if (text.size() + bytes.size() > largest_manifest_bytes)
      throw damaged(file, "its manifest is too large");
    for (const std::byte byte : bytes) text.push_back(static_cast<char>(byte));
  });
  return text;
}

/// The files that the manifest promises are those that are there.
ManifestCase promised(const ZipReader& zip, const std::map<std::string, std::size_t>& contents,
                      const fs::path& file) {
  const auto place = contents.find(packed_manifest_name);
  if (place == contents.end()) throw damaged(file, "is no packed case: it has no manifest.json");
  const Manifest manifest = manifest_of_json(text_inside(zip, place->second, file), file.string());
  if (manifest.cases.size() != 1) throw damaged(file, "its manifest is not of one case");
  std::set<std::string> names{packed_manifest_name};
  for (const ManifestFile& each : manifest.cases.front().files) {
    if (!names.insert(each.path).second)
      throw damaged(file, "its manifest names '" + each.path + "' twice");
    if (!contents.contains(each.path)) throw damaged(file, "'" + each.path + "' is missing");
  }
  for (const auto& [name, index] : contents)
    if (!names.contains(name)) throw damaged(file, "'" + name + "' is not in its manifest");
  return manifest.cases.front();
}

/// Reads one file, counts and hashes it, and hands its bytes on.
void read_promised(const ZipReader& zip, std::size_t index, const ManifestFile& promise,
                   const fs::path& file,
                   const std::function<void(std::span<const std::byte>)>& take) {
  Sha256 hash;
  std::uint64_t count = 0;
  zip.read(index, [&](std::span<const std::byte> bytes) {
    count += bytes.size();
    if (count > promise.bytes) throw damaged(file, "'" + promise.path + "' is longer than it says");
    hash.add(bytes);
    take(bytes);
  });
  if (count != promise.bytes || hash.finish() != promise.sha256)
    throw damaged(file, "'" + promise.path + "' is not what was packed");
}

Descriptor make_new(const fs::path& file) {
  constexpr mode_t mode = 0666;  // less the umask
  const int number =
      ::open(file.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, mode);
  if (number < 0) throw system_error(file, "cannot be written", errno);
  return Descriptor(number);
}

void write_all(const Descriptor& out, std::span<const std::byte> bytes, const fs::path& file) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(out.get(), bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throw system_error(file, "cannot be written", errno);
    bytes = bytes.subspan(static_cast<std::size_t>(written));
  }
}

void unpack_file(const ZipReader& zip, std::size_t index, const ManifestFile& promise,
                 const fs::path& file, const fs::path& into) {
  const fs::path place = into / promise.path;
  const Descriptor out = make_new(place);
  read_promised(zip, index, promise, file,
                [&](std::span<const std::byte> bytes) { write_all(out, bytes, place); });
  if (::fsync(out.get()) != 0) throw system_error(place, "cannot be written", errno);
}

void require_space(const ManifestCase& value, const fs::path& folder, const fs::path& file) {
  std::uint64_t all = 0;
  for (const ManifestFile& each : value.files) {
    if (each.bytes > ~std::uint64_t{0} - all) throw damaged(file, "its manifest is nonsense");
    all += each.bytes;
  }
  std::error_code failed;
  const fs::space_info space = fs::space(folder, failed);
  if (!failed && space.available < all)
    throw Error(Fault::machine, folder.string(),
                fmt::format("has no room for the case, {} MB", all / 1'000'000),
                "make room on the disk, or unpack elsewhere");
}

/// Everything of a packed file against its manifest, without writing any of it.
void verify_packed(const fs::path& file, const Progress& progress) {
  const ZipReader zip(file);
  const auto contents = contents_of(zip, file, {});
  const ManifestCase value = promised(zip, contents, file);
  for (std::size_t i = 0; i < value.files.size(); ++i) {
    progress(static_cast<double>(i) / static_cast<double>(value.files.size()), "reading it back");
    read_promised(zip, contents.at(value.files[i].path), value.files[i], file, [](auto) {});
  }
}

Progress part_of_packing(const Progress& progress, double from, double to) {
  return [&progress, from, to](double fraction, std::string_view stage) {
    progress(from + fraction * (to - from), stage);
  };
}

}  // namespace

void pack_case(const fs::path& folder, const fs::path& file, const Progress& progress) {
  progress(0.0, "checking the case");
  require_whole_case(folder);
  Manifest manifest{.program = std::string("howlpoint ") + version,
                    .workshop_facts_sha256 = {},
                    .band = std::nullopt,
                    .cases = {manifest_case(folder, load_case(folder))}};
  PartFile part(file);
  {
    ZipWriter zip(part.path());
    zip.add_text(packed_manifest_name, manifest_json(manifest) + "\n");
    for (const ManifestFile& each : manifest.cases.front().files)
      zip.add_file(each.path, folder / each.path);
    zip.finish(part_of_packing(progress, 0.2, 0.8));
  }
  verify_packed(part.path(), part_of_packing(progress, 0.8, 1.0));
  part.keep();
}

void unpack_case(const fs::path& file, const fs::path& folder, const UnpackLimits& limits,
                 const Progress& progress) {
  const ZipReader zip(file);
  const auto contents = contents_of(zip, file, limits);
  const ManifestCase value = promised(zip, contents, file);
  NewFolder made(folder);
  require_space(value, made.path(), file);
  for (const std::string_view part : {recordings_folder, logs_folder})
    fs::create_directory(made.path() / part);
  for (std::size_t i = 0; i < value.files.size(); ++i) {
    progress(static_cast<double>(i) / static_cast<double>(value.files.size()),
             "unpacking " + value.files[i].path);
    unpack_file(zip, contents.at(value.files[i].path), value.files[i], file, made.path());
  }
  if (const auto findings = check_case(made.path()); !findings.empty())
    throw damaged(file, "holds a case that is not whole: " + findings.front().problem);
  made.keep();
}

}  // namespace howl::handover
