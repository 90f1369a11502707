#include "src/handover/manifest.h"

#include <doctest/doctest.h>

#include <filesystem>

#include "src/errors.h"
#include "src/files/sha256.h"
#include "src/handover/check_manifest.h"
#include "src/keeping/check_case.h"
#include "tests/src/document/small_case.h"

namespace howl::handover {
namespace {

namespace fs = std::filesystem;
using test::ScratchFolder;

Manifest manifest_now(const fs::path& folder) {
  return {"howlpoint 0.0.0", "", std::nullopt, {manifest_case(folder, load_case(folder))}};
}

std::vector<std::string> complaints(const fs::path& folder, const Manifest& manifest) {
  std::vector<std::string> all;
  for (const CaseFinding& finding : check_manifest(folder, manifest, "report.pdf"))
    all.push_back(finding.where.substr(finding.where.rfind("whine/") + 6) + ": " + finding.problem);
  return all;
}

using Complaints = std::vector<std::string>;

TEST_CASE("A manifest is the same after it was written and read, whatever is in its texts") {
  Manifest manifest{"howlpoint 0.0.0", "ab", AnalysisRequest::Band{}, {}};
  manifest.band->range = {300.25, 400.5};
  manifest.cases = {{"--></template>'\"&<b> שלום \n",
                     "2026",
                     {{"case.json", 5, "cd", ""}, {"recordings/a", 7, "ef", "t01"}}}};
  const std::string json = manifest_json(manifest);
  // Nothing that ends a comment, an element or a line.
  CHECK(json.find_first_of("<>&'\n") == std::string::npos);
  CHECK(json.find("--") == std::string::npos);
  const Manifest read = manifest_of_json(json, "x");
  CHECK(read.cases[0].title == manifest.cases[0].title);
  CHECK(read.cases[0].files[1].take == "t01");
  CHECK(read.cases[0].files[1].bytes == 7);
  CHECK(read.band->range.high == 400.5);
  CHECK(manifest_json(read) == json);
}

TEST_CASE("A manifest that is damaged, of another kind, or leads out of the case is refused") {
  for (const char* text :
       {"", "{", "[]", "{}", R"({"schema":"other"})",
        R"({"schema":"howlpoint.manifest/1","program":1})",
        R"({"schema":"howlpoint.manifest/1","program":"","workshop_facts_sha256":"","band":null,
            "cases":[{"title":"","created":"","files":[{"path":"../x","bytes":1,"sha256":"","take":null}]}]})"})
    CHECK_THROWS_AS(manifest_of_json(text, "x"), Error);
}

TEST_CASE("A case as it was is whole; each file that was tampered with is named") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  const Manifest manifest = manifest_now(folder);
  CHECK(complaints(folder, manifest).empty());
  const fs::path first = folder / load_case(folder).takes[0].recording;
  const fs::path second = folder / load_case(folder).takes[1].recording;
  const std::string name = load_case(folder).takes[0].recording;
  const std::string other = load_case(folder).takes[1].recording;
  const std::string bytes = test::content_of(first);

  SUBCASE("one byte of a recording") {
    std::string changed = bytes;
    changed[changed.size() / 2] = static_cast<char>(changed[changed.size() / 2] ^ 1);
    test::write_text(first, changed);
    CHECK(complaints(folder, manifest) ==
          Complaints{name + ": was changed since report.pdf was made"});
  }
  SUBCASE("case.json, with the hash of a changed recording in it") {
    test::write_text(first, bytes + "x");
    std::string json = test::content_of(folder / "case.json");
    const std::string hash = sha256_of_text(bytes);
    json.replace(json.find(hash), hash.size(), sha256_of_text(bytes + "x"));
    test::write_text(folder / "case.json", json);
    CHECK(complaints(folder, manifest) ==
          Complaints{"case.json: was changed since report.pdf was made",
                     name + ": was changed since report.pdf was made"});
  }
  SUBCASE("two recordings exchanged") {
    fs::rename(first, folder / "aside");
    fs::rename(second, first);
    fs::rename(folder / "aside", second);
    CHECK(complaints(folder, manifest) ==
          Complaints{
              name + ": was swapped: it holds what " + other + " held when report.pdf was made",
              other + ": was swapped: it holds what " + name + " held when report.pdf was made"});
  }
  SUBCASE("a recording taken away, another put in") {
    fs::remove(first);
    test::write_text(folder / "recordings/t09-new.wav", "new");
    CHECK(complaints(folder, manifest) ==
          Complaints{name + ": is missing, but report.pdf rests on it",
                     "recordings/t09-new.wav: was not there when report.pdf was made"});
  }
}

TEST_CASE("Reports near a case are found by what they rest on") {
  const ScratchFolder scratch;
  const fs::path folder = test::small_case(scratch, "whine");
  const fs::path other = test::small_case(scratch, "other", "Another");
  test::write_text(other / load_case(other).takes[0].recording, "other");
  test::write_text(other / load_case(other).takes[1].recording, "other too");
  const auto html = [&](const fs::path& of) {
    return "<html>" + manifest_element(manifest_json(manifest_now(of))) + "</html>";
  };
  test::write_text(scratch / "mine.html", html(folder));
  test::write_text(folder / "inside.html", html(folder));
  test::write_text(scratch / "theirs.html", html(other));
  test::write_text(scratch / "letter.pdf", "%PDF-1.4 something else");
  std::string names;
  for (const fs::path& file : reports_near(folder)) names += file.filename().string() + " ";
  CHECK(names == "inside.html mine.html ");
}

}  // namespace
}  // namespace howl::handover
