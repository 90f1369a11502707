#include <doctest/doctest.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <limits>
#include <set>

#include "src/case/case.h"
#include "src/errors.h"
#include "src/files/sha256.h"
#include "src/keeping/add_take.h"
#include "src/keeping/check_case.h"
#include "src/keeping/exchange_case.h"
#include "tests/src/limited_disk.h"
#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

using namespace howl;
using namespace howl::test;

namespace fs = std::filesystem;

namespace {

struct Workshop {
  ScratchFolder scratch;
  fs::path folder = scratch / "case";

  Workshop() {
    Case value;
    value.title = "whine";
    value.profile = "blank-four-stroke";
    value.points = {{.name = "bell housing", .description = ""},
                    {.name = "idler bolt", .description = ""}};
    create_case(folder, value);
  }

  fs::path sound(const std::string& name, const std::vector<double>& samples,
                 FileLayout layout = {.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16, .rate = 8000}) {
    return write_sound(scratch / name, samples, layout);
  }
  fs::path sine(const std::string& name, double seconds = 1.0) {
    return sound(name, sines(seconds, 8000, 1));
  }
  fs::path text(const std::string& name, std::string_view content) {
    return write_text(scratch / name, content);
  }
};

NewTake request_for(const fs::path& recording, SpeedSource speed = EnteredSpeed{800.0_rpm}) {
  NewTake request;
  request.recording = recording;
  request.take.point = "bell housing";
  request.take.speed = std::move(speed);
  return request;
}

/// Everything in a case folder: path and content hash.
std::set<std::string> state_of(const fs::path& folder) {
  std::set<std::string> state;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file())
      state.insert(entry.path().string() + " " + sha256_of_file(entry.path()));
  return state;
}

/// The refusal of a request, after which the case must be as it was.
Error refusal(const Workshop& workshop, const NewTake& request) {
  const auto before = state_of(workshop.folder);
  try {
    add_take(workshop.folder, request);
  } catch (const Error& error) {
    CHECK(state_of(workshop.folder) == before);
    CHECK_FALSE(error.remedy().empty());
    return error;
  }
  FAIL("added");
  return {Fault::command, "", "", ""};
}

bool has_warning(const AddedTake& added, std::string_view part) {
  for (const std::string& warning : added.warnings)
    if (warning.find(part) != std::string::npos) return true;
  return false;
}

/// One pulse in `period` samples, five samples wide.
std::vector<double> with_pulses(std::vector<double> stereo, std::size_t period) {
  for (std::size_t i = 0; i < stereo.size() / 2; ++i)
    stereo[2 * i + 1] = i % period < 5 ? 0.9 : 0.0;
  return stereo;
}

}  // namespace

TEST_CASE("a take is stored with its recording, byte for byte, and all that was asked") {
  Workshop workshop;
  const auto recording = workshop.sine("Motor läuft, 速度 1.wav", 2.0);
  NewTake request = request_for(recording, EnteredSpeed{1726.0_rpm});
  request.take.load = {{"steering", "left stop"}};
  request.take.road_speed_kmh = 50.0;
  request.take.note = "with tape";
  const AddedTake added = add_take(workshop.folder, request);
  CHECK(added.warnings.empty());
  CHECK(added.take.id == "t01");
  CHECK(added.take.recording == "recordings/t01-Motor_läuft_速度_1.wav");
  CHECK(added.take.original_name == "Motor läuft, 速度 1.wav");
  CHECK(added.take.sample_rate == 8000.0);
  CHECK(added.take.frames == 16000);
  CHECK(added.take.channels == 1);
  CHECK(added.take.added.size() == 20);
  CHECK(content_of(workshop.folder / added.take.recording) == content_of(recording));
  CHECK(added.take.sha256 == sha256_of_file(recording));

  const Case stored = load_case(workshop.folder);
  REQUIRE(stored.takes.size() == 1);
  CHECK(stored.takes[0].load == request.take.load);
  CHECK(stored.takes[0].road_speed_kmh == 50.0);
  CHECK(stored.takes[0].note == "with tape");
  CHECK(std::get<EnteredSpeed>(stored.takes[0].speed).speed == 1726.0_rpm);
  CHECK(check_case(workshop.folder).empty());
}

TEST_CASE("names are numbered on, and never overwrite a file that is there") {
  Workshop workshop;
  const auto recording = workshop.sine("a.wav");
  CHECK(add_take(workshop.folder, request_for(recording)).take.id == "t01");
  CHECK(add_take(workshop.folder, request_for(workshop.sine("b.wav", 1.5))).take.id == "t02");
  write_text(workshop.folder / "recordings/t07-left over.wav", "left over");
  CHECK(add_take(workshop.folder, request_for(workshop.sine("c.wav", 2.0))).take.id == "t08");
  CHECK(content_of(workshop.folder / "recordings/t07-left over.wav") == "left over");
}

TEST_CASE("an unknown point is refused with the known ones, or made when asked") {
  Workshop workshop;
  NewTake request = request_for(workshop.sine("a.wav"));
  request.take.point = "bellhousing";
  const Error error = refusal(workshop, request);
  CHECK(error.fault() == Fault::command);
  CHECK(error.remedy().find("'bell housing', 'idler bolt'") != std::string::npos);
  request.make_point = true;
  add_take(workshop.folder, request);
  CHECK(load_case(workshop.folder).points.back().name == "bellhousing");
}

TEST_CASE("a speed that no engine has is refused") {
  Workshop workshop;
  const auto recording = workshop.sine("a.wav");
  for (const double rpm : {0.0, -800.0, 30'001.0, std::numeric_limits<double>::infinity(),
                           std::numeric_limits<double>::quiet_NaN()}) {
    CAPTURE(rpm);
    const Error entered = refusal(workshop, request_for(recording, EnteredSpeed{Rpm(rpm)}));
    CHECK(entered.fault() == Fault::command);
    CHECK(entered.problem().find("rpm cannot be an engine speed") != std::string::npos);
    refusal(workshop, request_for(recording, EnteredRamp{{{0.0_s, 800.0_rpm}, {1.0_s, Rpm(rpm)}}}));
  }
  refusal(workshop, request_for(recording, EnteredRamp{}));
  refusal(workshop, request_for(recording, EnteredRamp{{{1.0_s, 800.0_rpm}, {1.0_s, 900.0_rpm}}}));
  const Error late = refusal(
      workshop, request_for(recording, EnteredRamp{{{5.0_s, 800.0_rpm}, {6.0_s, 900.0_rpm}}}));
  CHECK(late.problem().find("after the end of the recording") != std::string::npos);
  const AddedTake longer =
      add_take(workshop.folder,
               request_for(recording, EnteredRamp{{{0.0_s, 800.0_rpm}, {6.0_s, 900.0_rpm}}}));
  CHECK(has_warning(longer, "the ramp ends at 6.0 s, but the recording at 1.0 s"));
}

TEST_CASE("channels that are not there, or used twice, are refused") {
  Workshop workshop;
  const auto stereo =
      workshop.sound("stereo.wav", sines(1.0, 8000, 2), {.rate = 8000, .channels = 2});
  const auto with = [&](int channel, std::optional<int> reference) {
    NewTake request = request_for(stereo);
    request.take.channel = channel;
    request.take.reference_channel = reference;
    return request;
  };
  CHECK(refusal(workshop, with(3, {})).problem().find("has 2 channels") != std::string::npos);
  CHECK(refusal(workshop, with(0, {})).fault() == Fault::command);
  CHECK(refusal(workshop, with(1, 1)).problem().find("different channels") != std::string::npos);
  CHECK(refusal(workshop, with(1, 3)).where() == "reference channel 3");
  refusal(workshop, request_for(stereo, TachoSpeed{.channel = 1, .pulses_per_revolution = 1.0}));
  refusal(workshop, request_for(stereo, TachoSpeed{.channel = 2, .pulses_per_revolution = 0.0}));
  const AddedTake added = add_take(workshop.folder, with(1, 2));
  CHECK(added.take.reference_channel == 2);
}

TEST_CASE("recordings too short, silent, broken or cut off are refused") {
  Workshop workshop;
  CHECK(refusal(workshop, request_for(workshop.scratch / "none.wav")).fault() == Fault::file);
  CHECK(refusal(workshop, request_for(workshop.text("notes.wav", "just notes"))).problem() ==
        "holds text, not audio");
  CHECK(refusal(workshop, request_for(workshop.sound("one.wav", {0.5}))).problem() ==
        "lasts only 0.0001 s; at least 0.5 s are needed");
  CHECK(refusal(workshop, request_for(workshop.sine("short.wav", 0.499))).problem() ==
        "lasts only 0.4990 s; at least 0.5 s are needed");
  const auto silent = workshop.sound("silent.wav", std::vector<double>(8000));
  const Error silence = refusal(workshop, request_for(silent));
  CHECK(silence.fault() == Fault::file);
  CHECK(silence.problem() == "is digital silence: its samples never change");
  refusal(workshop, request_for(workshop.sound("offset.wav", std::vector<double>(8000, 0.25))));

  auto broken = sines(1.0, 8000, 1);
  broken[4000] = std::numeric_limits<double>::quiet_NaN();
  const auto nan =
      workshop.sound("nan.wav", broken, {.format = SF_FORMAT_WAV | SF_FORMAT_FLOAT, .rate = 8000});
  CHECK(refusal(workshop, request_for(nan)).problem().find("not a number at 0.5000 s") !=
        std::string::npos);

  const auto cut = workshop.sine("cut.wav", 10.0);
  fs::resize_file(cut, fs::file_size(cut) / 2);
  const Error half = refusal(workshop, request_for(cut));
  CHECK(half.problem() == "was cut off: its header promises 10.00 s, 5.00 s are there");
}

TEST_CASE("silence in a channel that is not used does no harm") {
  Workshop workshop;
  auto stereo = sines(1.0, 8000, 2);
  for (std::size_t i = 1; i < stereo.size(); i += 2) stereo[i] = 0.0;
  const auto file = workshop.sound("half.wav", stereo, {.rate = 8000, .channels = 2});
  CHECK(add_take(workshop.folder, request_for(file)).warnings.empty());
  NewTake second = request_for(file);
  second.take.channel = 2;
  CHECK(refusal(workshop, second).where().ends_with("half.wav, channel 2"));
}

TEST_CASE("a repeated recording is a warning, whatever it is called now") {
  Workshop workshop;
  add_take(workshop.folder, request_for(workshop.sound("loud.wav", sines(1.0, 8000, 1))));
  fs::copy_file(workshop.scratch / "loud.wav", workshop.scratch / "copy.wav");
  NewTake elsewhere = request_for(workshop.scratch / "copy.wav");
  elsewhere.take.point = "idler bolt";
  CHECK(has_warning(add_take(workshop.folder, elsewhere),
                    "is in the case already, as t01 at 'bell housing'"));
  elsewhere.take.note = "still there twice";
  const ChangedTake changed =
      change_take(workshop.folder, load_case(workshop.folder), "t02", elsewhere);
  REQUIRE(changed.warnings.size() == 1);
  CHECK(changed.warnings[0].find("is in the case already, as t01") != std::string::npos);
  NewTake faster = request_for(workshop.scratch / "copy.wav", EnteredSpeed{900.0_rpm});
  CHECK(has_warning(add_take(workshop.folder, faster), "is in the case already, as t01"));
}

TEST_CASE("a repeated recording of which the same is said is refused") {
  Workshop workshop;
  NewTake request = request_for(workshop.sine("a.wav", 4.0), LoggedSpeed{});
  request.log = workshop.text("drive.csv", "time (s),rpm\n0,800\n2,900\n4,1000\n");
  request.take.load["ac"] = "on";
  add_take(workshop.folder, request);
  fs::copy_file(workshop.scratch / "a.wav", workshop.scratch / "copy.wav");
  request.recording = workshop.scratch / "copy.wav";
  request.take.note = "once more";
  const Error refused = refusal(workshop, request);
  CHECK(refused.where().ends_with("copy.wav"));
  CHECK(refused.problem().find("as t01 at 'bell housing'") != std::string::npos);
  request.take.load["ac"] = "off";
  CHECK(has_warning(add_take(workshop.folder, request), "is in the case already, as t01"));
  request.take.load["ac"] = "on";
  request.log = workshop.text("other.csv", "time (s),rpm\n0,810\n2,900\n4,1000\n");
  CHECK(has_warning(add_take(workshop.folder, request), "is in the case already, as t01"));
}

TEST_CASE("a logged take stores its log, and refuses a log that does not fit") {
  Workshop workshop;
  NewTake request = request_for(workshop.sine("a.wav", 4.0), LoggedSpeed{});
  CHECK(refusal(workshop, request).where() == "speed log");
  request.log = workshop.text("scan tool 1.csv", "time (s),rpm\n0,800\n2,900\n4,1000\n");
  const AddedTake added = add_take(workshop.folder, request);
  const auto& logged = std::get<LoggedSpeed>(added.take.speed);
  CHECK(logged.log == "logs/t01-scan_tool_1.csv");
  CHECK(content_of(workshop.folder / logged.log) == content_of(*request.log));
  CHECK(logged.sha256 == sha256_of_file(*request.log));
  CHECK(check_case(workshop.folder).empty());

  request.log = workshop.text("short.csv", "time (s),rpm\n0,800\n2,900\n");
  const Error error = refusal(workshop, request);
  CHECK(error.where().ends_with("short.csv"));
  CHECK(error.problem() == "gives the speed from 0.0 to 2.0 s, but the recording lasts 4.0 s");
  NewTake not_logged = request_for(workshop.sine("b.wav"));
  not_logged.log = request.log;
  CHECK(refusal(workshop, not_logged).where() == "speed log");
}

TEST_CASE("a tacho channel is understood when the take is added") {
  Workshop workshop;
  const FileLayout stereo{.format = SF_FORMAT_WAV | SF_FORMAT_PCM_24, .rate = 8000, .channels = 2};
  const auto good =
      workshop.sound("good.wav", with_pulses(sines(4.0, 8000, 2), 500), stereo);  // 16 Hz, 960 rpm
  const TachoSpeed tacho{.channel = 2, .pulses_per_revolution = 1.0};
  CHECK(add_take(workshop.folder, request_for(good, tacho)).warnings.empty());
  CHECK(check_case(workshop.folder).empty());

  auto stopped = with_pulses(sines(4.0, 8000, 2), 500);
  for (std::size_t i = 16'000; i < 28'000; ++i) stopped[2 * i + 1] = 0.0;
  const Error error =
      refusal(workshop, request_for(workshop.sound("stopped.wav", stopped, stereo), tacho));
  CHECK(error.fault() == Fault::file);
  CHECK(error.where().ends_with("stopped.wav, channel 2"));
  CHECK(error.problem().starts_with("has no tacho pulses from 1.9"));
  const Error fast =
      refusal(workshop, request_for(good, TachoSpeed{.channel = 2, .pulses_per_revolution = 0.01}));
  CHECK(fast.remedy() == "check pulses per revolution");
}

TEST_CASE("a disk that fills up while copying leaves the case as it was") {
  Workshop workshop;
  add_take(workshop.folder, request_for(workshop.sine("small.wav")));
  const auto large = workshop.sine("large.wav", 20.0);  // 320 kB
  const LimitedFileSize limit(100'000);
  const Error error = refusal(workshop, request_for(large));
  CHECK(error.fault() == Fault::machine);
  CHECK(error.remedy().find("free some space") != std::string::npos);
}

TEST_CASE("a disk that fills up while case.json is written takes the copies away again") {
  Workshop workshop;
  NewTake request = request_for(workshop.sine("small.wav", 0.6), LoggedSpeed{});  // 10 kB
  request.log = workshop.text("log.csv", "time (s),rpm\n0,800\n1,900\n");
  request.take.note = std::string(50'000, 'x');
  const LimitedFileSize limit(30'000);
  const Error error = refusal(workshop, request);
  CHECK(error.where().ends_with("case.json.tmp"));
}

TEST_CASE("a place that cannot be written is the machine's fault") {
  Workshop workshop;
  const auto recording = workshop.sine("a.wav");
  // A file where the folder should be fails for the superuser too, whom permissions do not stop.
  fs::remove(workshop.folder / "recordings");
  write_text(workshop.folder / "recordings", "in the way");
  refusal(workshop, request_for(recording));
  CHECK(content_of(workshop.folder / "recordings") == "in the way");
  if (geteuid() == 0) return;
  fs::remove(workshop.folder / "recordings");
  chmod(workshop.folder.c_str(), 0555);
  const Error error = refusal(workshop, request_for(recording));
  chmod(workshop.folder.c_str(), 0755);
  CHECK(error.fault() == Fault::machine);
}

TEST_CASE("eight processes that add at once lose no take") {
  Workshop workshop;
  std::vector<fs::path> recordings;
  for (int i = 0; i < 8; ++i)
    recordings.push_back(workshop.sine(std::to_string(i) + ".wav", 1.0 + 0.1 * i));
  std::vector<pid_t> children;
  for (const fs::path& recording : recordings) {
    const pid_t child = fork();
    if (child == 0) {
      try {
        add_take(workshop.folder, request_for(recording));
      } catch (...) {
        _exit(1);
      }
      _exit(0);
    }
    children.push_back(child);
  }
  for (const pid_t child : children) {
    int status = 0;
    waitpid(child, &status, 0);
    CHECK(status == 0);
  }
  CHECK(load_case(workshop.folder).takes.size() == 8);
  CHECK(check_case(workshop.folder).empty());
}

TEST_CASE("check names every damage with its take") {
  Workshop workshop;
  for (const char* name : {"a.wav", "b.wav", "c.wav"})
    add_take(workshop.folder, request_for(workshop.sine(name, 1.0 + 0.1 * (name[0] - 'a'))));
  NewTake with_log = request_for(workshop.sine("d.wav", 2.0), LoggedSpeed{});
  with_log.log = workshop.text("log.csv", "time (s),rpm\n0,800\n2,900\n");
  add_take(workshop.folder, with_log);
  REQUIRE(check_case(workshop.folder).empty());

  fs::remove(workshop.folder / "recordings/t01-a.wav");
  std::string bytes = content_of(workshop.folder / "recordings/t02-b.wav");
  bytes[1000] = static_cast<char>(bytes[1000] ^ 1);
  write_text(workshop.folder / "recordings/t02-b.wav", bytes);
  update_case(workshop.folder, [](Case& value) {
    value.takes[2].point = "somewhere";
    value.takes[2].frames += 1;
  });
  write_text(workshop.folder / "logs/t04-log.csv", "time (s),rpm\n0,800\n2,901\n");
  write_text(workshop.folder / "recordings/photo.jpg", "");

  const auto findings = check_case(workshop.folder);
  const auto found = [&](std::string_view where, std::string_view problem) {
    return std::ranges::count_if(findings, [&](const CaseFinding& finding) {
             return finding.where.find(where) != std::string::npos &&
                    finding.problem.find(problem) != std::string::npos;
           }) == 1;
  };
  CHECK(findings.size() == 6);
  CHECK(found("take t01", "No such file"));
  CHECK(found("take t02", "was changed since it was added"));
  CHECK(found("take t03", "its point 'somewhere' is not in the case"));
  CHECK(found("take t03", "8000 Hz, but the case notes"));
  CHECK(found("t04-log.csv", "was changed since it was added"));
  CHECK(found("photo.jpg", "belongs to no take"));

  write_text(workshop.folder / "case.json", "{");
  REQUIRE(check_case(workshop.folder).size() == 1);
  CHECK(check_case(workshop.folder)[0].problem.starts_with("breaks off at line 1"));
  CHECK(check_case(workshop.scratch / "none").size() == 1);
}
