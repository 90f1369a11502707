#include <doctest/doctest.h>

#include <fstream>

#include "src/case/pinned_notes.h"
#include "src/errors.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

namespace {

void write(const std::filesystem::path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

}  // namespace

TEST_CASE("pinned notes survive being written and read") {
  const test::ScratchFolder scratch;
  const std::vector<PinnedNote> notes{
      {"t01", 1.25, 297.5, std::nullopt, "here it begins"},
      {"t02", 0.0, std::nullopt, 11.9, "Flügelrad \"12\"\nsecond line"},
      {"t02", 3.0, 0.0, std::nullopt, ""}};
  save_pinned_notes(scratch / "", notes);
  CHECK(load_pinned_notes(scratch / "") == notes);
  save_pinned_notes(scratch / "", {notes[1]});
  CHECK(load_pinned_notes(scratch / "") == std::vector<PinnedNote>{notes[1]});
}

TEST_CASE("without notes there is no file") {
  const test::ScratchFolder scratch;
  CHECK(load_pinned_notes(scratch / "").empty());
  save_pinned_notes(scratch / "", {{"t01", 1, 100, std::nullopt, "x"}});
  CHECK(std::filesystem::exists(scratch / "notes.json"));
  save_pinned_notes(scratch / "", {});
  CHECK_FALSE(std::filesystem::exists(scratch / "notes.json"));
}

TEST_CASE("a file of notes that cannot be understood is refused, and says where") {
  const test::ScratchFolder scratch;
  const auto refused = [&](const std::string& text) -> std::string {
    write(scratch / "notes.json", text);
    try {
      load_pinned_notes(scratch / "");
    } catch (const Error& error) {
      return error.problem();
    }
    return "accepted";
  };
  const std::string head = R"({"schema": "howlpoint.notes/1", "notes": [)";
  const std::string good = R"({"take": "t01", "time_s": 1, "order": 10, "text": ""})";
  CHECK(refused(head + good + "]}") == "accepted");
  CHECK(refused("") == "is not JSON as it should be");
  CHECK(refused("[]").find("schema") != std::string::npos);
  CHECK(refused(R"({"schema": 3})") == "is not JSON as it should be");
  CHECK(refused(R"({"schema": "howlpoint.notes/2", "notes": []})").find("schema") !=
        std::string::npos);
  CHECK(refused(R"({"schema": "howlpoint.notes/1"})").find("notes") != std::string::npos);
  for (const char* bad :
       {R"(3)", R"({"take": "t01", "time_s": 1, "text": ""})",
        R"({"take": "t01", "time_s": 1, "order": 1, "frequency_hz": 1, "text": ""})",
        R"({"take": "t01", "time_s": -1, "order": 1, "text": ""})",
        R"({"take": "t01", "time_s": 1, "order": "1", "text": ""})",
        R"({"take": 1, "time_s": 1, "order": 1, "text": ""})",
        R"({"take": "t01", "time_s": 1, "order": 1})"}) {
    CAPTURE(bad);
    CHECK(refused(head + good + "," + bad + "]}") == "cannot be understood at note 2");
  }
  CHECK(refused(head + R"({"take": "t01", "time_s": 1, "order": 1, "text": ")" +
                std::string(PinnedNote::longest + 1, 'x') + "\"}]}") ==
        "cannot be understood at note 1");
}
