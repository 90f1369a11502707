#include "src/handover/pack.h"

#include <doctest/doctest.h>
#include <zip.h>

#include <algorithm>
#include <filesystem>
#include <functional>
#include <random>

#include "src/errors.h"
#include "src/files/sha256.h"
#include "src/handover/manifest.h"
#include "src/keeping/check_case.h"
#include "tests/src/document/small_case.h"

namespace howl::handover {
namespace {

namespace fs = std::filesystem;
using test::ScratchFolder;

void quietly(double, std::string_view) {}

/// Every file below, by its path, with its bytes.
std::map<std::string, std::string> tree_of(const fs::path& folder) {
  std::map<std::string, std::string> tree;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    tree[fs::relative(entry.path(), folder).string()] =
        entry.is_directory() ? "folder" : test::content_of(entry.path());
  return tree;
}

/// A ZIP with these files; `change` may spoil what is in it.
struct Forged {
  std::string name;
  std::string bytes;
  std::uint32_t mode{0100644};
};
fs::path forge(const fs::path& file, const std::vector<Forged>& files) {
  int error = 0;
  zip_t* zip = zip_open(file.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &error);
  REQUIRE(zip != nullptr);
  for (const Forged& each : files) {
    zip_source_t* source = zip_source_buffer(zip, each.bytes.data(), each.bytes.size(), 0);
    const zip_int64_t index = zip_file_add(zip, each.name.c_str(), source, ZIP_FL_ENC_UTF_8);
    REQUIRE(index >= 0);
    zip_file_set_external_attributes(zip, static_cast<zip_uint64_t>(index), 0, ZIP_OPSYS_UNIX,
                                     each.mode << 16U);
  }
  REQUIRE(zip_close(zip) == 0);
  return file;
}

/// The files of a good packed case, to be spoilt one by one.
std::vector<Forged> good_files(const fs::path& folder) {
  const Manifest manifest{"howlpoint", "", {}, {manifest_case(folder, load_case(folder))}};
  std::vector<Forged> files{{packed_manifest_name, manifest_json(manifest)}};
  for (const ManifestFile& file : manifest.cases[0].files)
    files.push_back({file.path, test::content_of(folder / file.path)});
  return files;
}

/// What unpacking says, if it refuses; nothing may have changed anywhere then.
std::string refusal(const ScratchFolder& scratch, const fs::path& file,
                    const UnpackLimits& limits = {}) {
  const auto before = tree_of(scratch.path());
  try {
    unpack_case(file, scratch / "unpacked", limits, quietly);
  } catch (const Error& error) {
    CHECK(tree_of(scratch.path()) == before);
    return error.problem();
  }
  return "unpacked";
}

TEST_CASE("A case comes out of its packed file as it went in, and packs to the same bytes again") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  pack_case(folder, scratch / "one.zip", quietly);
  unpack_case(scratch / "one.zip", scratch / "unpacked", {}, quietly);
  CHECK(check_case(scratch / "unpacked").empty());
  auto was = tree_of(folder);
  was.erase(".howlpoint.lock");
  CHECK(tree_of(scratch / "unpacked") == was);
  pack_case(scratch / "unpacked", scratch / "two.zip", quietly);
  CHECK(test::content_of(scratch / "one.zip") == test::content_of(scratch / "two.zip"));
}

TEST_CASE("A case that is not whole is not packed") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  test::write_text(folder / load_case(folder).takes[0].recording, "changed");
  CHECK_THROWS_AS(pack_case(folder, scratch / "one.zip", quietly), Error);
  CHECK_FALSE(fs::exists(scratch / "one.zip"));
}

TEST_CASE("Nothing is overwritten: the folder must not be there, not even as a link") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  pack_case(folder, scratch / "one.zip", quietly);
  fs::create_directory(scratch / "unpacked");
  CHECK(refusal(scratch, scratch / "one.zip") == "is there already");
  fs::remove(scratch / "unpacked");
  fs::create_symlink(scratch / "nowhere", scratch / "unpacked");
  CHECK_THROWS_AS(unpack_case(scratch / "one.zip", scratch / "unpacked", {}, quietly), Error);
  CHECK_FALSE(fs::exists(scratch / "nowhere"));
}

TEST_CASE("What is no packed case, or more than one, is refused and leaves nothing behind") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  const std::vector<Forged> good = good_files(folder);
  REQUIRE(refusal(scratch, forge(scratch / "good.zip", good)) == "unpacked");
  fs::remove_all(scratch / "unpacked");
  const auto with = [&](const std::function<void(std::vector<Forged>&)>& spoil) {
    std::vector<Forged> files = good;
    spoil(files);
    return refusal(scratch, forge(scratch / "forged.zip", files));
  };
  const auto with_one_more = [&](const std::string& name) {
    return with([&](auto& files) { files.push_back({name, "x"}); });
  };
  for (const char* name : {"../evil", "recordings/../../evil", "/tmp/evil", "recordings/a/b",
                           "evil", "recordings/.hidden", "recordings\\evil", "recordings/a\nb",
                           "recordings/", "logs/../case.json", "recordings/..", "C:/evil"})
    CHECK(with_one_more(name).find("holds a file that no case has") == 0);
  CHECK(with_one_more("recordings/stowaway.wav").find("is not in its manifest") !=
        std::string::npos);
  CHECK(with([](auto& files) { files[1].bytes += "x"; }).find("longer than it says") !=
        std::string::npos);
  CHECK(with([](auto& files) { files[1].bytes[3] ^= 1; }).find("not what was packed") !=
        std::string::npos);
  CHECK(with([](auto& files) { files[2].bytes.pop_back(); }).find("not what was packed") !=
        std::string::npos);
  CHECK(with([](auto& files) { files.pop_back(); }).find("is missing") != std::string::npos);
  CHECK(with([](auto& files) { files.erase(files.begin()); }).find("no manifest.json") !=
        std::string::npos);
  CHECK(with([](auto& files) { files[2].mode = 0120777; }).find("no ordinary file") !=
        std::string::npos);
  CHECK(with([](auto& files) { files[2].mode = 0040755; }).find("no ordinary file") !=
        std::string::npos);
  test::write_text(scratch / "text.zip", "this is no ZIP file");
  CHECK(refusal(scratch, scratch / "text.zip").find("is no packed case that can be read") == 0);
}

TEST_CASE("A manifest that fits itself does not let a spoilt case through") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  const std::string recording = load_case(folder).takes[0].recording;
  test::write_text(folder / recording, "changed, and honestly so in the manifest");
  CHECK(refusal(scratch, forge(scratch / "forged.zip", good_files(folder)))
            .find("holds a case that is not whole") == 0);
}

TEST_CASE("Sizes and counts are bounded") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  pack_case(folder, scratch / "one.zip", quietly);
  const auto refused_by = [&](const UnpackLimits& limits) {
    return refusal(scratch, scratch / "one.zip", limits) != "unpacked";
  };
  CHECK(refused_by({.files = 3}));
  CHECK(refused_by({.file_bytes = 100'000}));
  CHECK(refused_by({.all_bytes = 200'000}));
}

TEST_CASE("A packed file that was spoilt anywhere never makes a wrong case, nor a crash") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  // A small one, so that most spoilt bytes lie in headers and directory.
  for (const Take& take : load_case(folder).takes)
    test::write_text(folder / take.recording, take.id);
  std::vector<Forged> files = good_files(folder);
  const std::string good = test::content_of(forge(scratch / "good.zip", files));
  std::mt19937 random(7);
  for (int round = 0; round < 600; ++round) {
    std::string bad = good;
    const std::size_t changes = 1 + random() % 4;
    for (std::size_t i = 0; i < changes; ++i)
      bad[random() % bad.size()] = static_cast<char>(random());
    if (round % 3 == 0) bad.resize(random() % bad.size());
    test::write_text(scratch / "bad.zip", bad);
    // The recordings are no sound, so that even the good one is refused at last.
    CHECK_THROWS_AS(unpack_case(scratch / "bad.zip", scratch / "unpacked", {}, quietly), Error);
    CHECK_FALSE(fs::exists(scratch / "unpacked"));
  }
  std::vector<std::string> left;
  for (const auto& entry : fs::directory_iterator(scratch.path()))
    left.push_back(entry.path().filename().string());
  std::ranges::sort(left);
  CHECK(left == std::vector<std::string>{"bad.zip", "good.zip", "whine", "whine.wav"});
}

TEST_CASE("Packing and unpacking can be broken off, and leave nothing") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  struct Stop {};
  const auto stop_at = [](const std::string& stage) {
    return [stage](double, std::string_view now) {
      if (now.starts_with(stage)) throw Stop{};
    };
  };
  CHECK_THROWS_AS(pack_case(folder, scratch / "one.zip", stop_at("packing")), Stop);
  CHECK_THROWS_AS(pack_case(folder, scratch / "one.zip", stop_at("reading it back")), Stop);
  CHECK_FALSE(fs::exists(scratch / "one.zip"));
  pack_case(folder, scratch / "one.zip", quietly);
  const auto before = tree_of(scratch.path());
  CHECK_THROWS_AS(
      unpack_case(scratch / "one.zip", scratch / "unpacked", {}, stop_at("unpacking rec")), Stop);
  CHECK(tree_of(scratch.path()) == before);
}

}  // namespace
}  // namespace howl::handover
