#include "src/speed/speed_log.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <string>
#include <vector>

#include "src/errors.h"
#include "src/speed/csv_rows.h"
#include "src/speed/log_cells.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

namespace {

SpeedLog log_of(std::string_view text, double seconds) {
  return parse_speed_log(text, "log.csv", Seconds(seconds));
}

Error refusal(std::string_view text, double seconds) {
  try {
    log_of(text, seconds);
  } catch (const Error& error) {
    return error;
  }
  return {Fault::command, "", "accepted", ""};
}

bool warns(const SpeedLog& log, std::string_view part) {
  for (const std::string& warning : log.warnings)
    if (warning.find(part) != std::string::npos) return true;
  return false;
}

/// Three rows, at 0, 5 and 10 s: 800, 1000.5 and 2000 rpm.
void check_three(std::string_view text) {
  CAPTURE(text);
  const SpeedLog log = log_of(text, 10.0);
  REQUIRE(log.points.size() == 3);
  CHECK(log.points[0].time.value == doctest::Approx(0.0));
  CHECK(log.points[1].time.value == doctest::Approx(5.0));
  CHECK(log.points[2].time.value == doctest::Approx(10.0));
  CHECK(log.points[0].speed.value == doctest::Approx(800.0));
  CHECK(log.points[1].speed.value == doctest::Approx(1000.5));
  CHECK(log.points[2].speed.value == doctest::Approx(2000.0));
}

}  // namespace

TEST_CASE("columns are found by their names, whatever the words, order and separators") {
  for (const char* header : {"time,rpm", "Time (s),Engine RPM", "seconds,engine speed", "t,n",
                             "TIME [s],Engine Speed [1/min]", "t/s,U/min", "Elapsed s,Drehzahl",
                             "\"Time (s)\",\"Engine speed (rpm)\""})
    check_three(std::string(header) + "\n0,800\n5,1000.5\n10,2000\n");
  check_three("rpm;load;time (s)\n800;1;0\n1000,5;2;5\n2000;3;10\n");
  check_three("time (s)\trpm\n0\t800\n5,0\t1000,5\n10\t2000\n");
  check_three("time (s),rpm\n0,\"800,0\"\n\"5,0\",\"1000,5\"\n10,2000\n");
  check_three("sep=;\ntime (s);rpm\n0;800\n5;1.000,5\n10;2.000,0\n");
  check_three("time (ms),rpm\n0,800\n5000,1000.5\n10000,2000\n");
  check_three("time (min);rpm\n0;800\n0,0833333333;1000,5\n0,1666666667;2000\n");
  check_three("Log of a scan tool\nexported today\n\ntime (s),rpm\n0,800\n5,1000.5\n10,2000\n");
}

TEST_CASE("the column of the engine is chosen among those of other shafts") {
  check_three(
      "time (s),turbine rpm,vehicle speed (km/h),engine rpm,output shaft rpm\n"
      "0,1,50,800,7\n5,2,51,1000.5,8\n10,3,52,2000,9\n");
}

TEST_CASE("without a header the first column is time, the second engine speed") {
  check_three("0,800\n5,1000.5\n10,2000\n");
  check_three("0;800\n5;1000,5\n10;2000\n");
}

TEST_CASE("marks, line ends, comments, blanks and missing cells") {
  check_three("\xEF\xBB\xBFtime (s),rpm\r\n0,800\r\n5,1000.5\r\n10,2000\r\n");
  check_three("time (s),rpm\r0,800\r5,1000.5\r10,2000");
  check_three(
      "# made by hand\ntime (s),rpm\n// idle\n0,800\n\n   \n 5 , 1000.5 \n% end\n10,2000,\n");
  check_three("time (s),rpm\n0,800\n2,\n3,NO DATA\n4,n/a\n5,1000.5\n6\n10,2000\n");
}

TEST_CASE("clock times, after a date too, also across midnight") {
  check_three("time,rpm\n00:00:00,800\n00:00:05,1000.5\n00:00:10.000,2000\n");
  const char* evening =
      "time;rpm\n2024-05-01 23:59:57,5;800\n2024-05-02 00:00:02,5;1000,5\n"
      "2024-05-02T00:00:07,5;2000\n";
  check_three(evening);
  CHECK(warns(log_of(evening, 10.0), "times are a clock's"));
}

TEST_CASE("times far beyond the recording are a clock's and begin at 0") {
  check_three("timestamp (s),rpm\n1714560000,800\n1714560005,1000.5\n1714560010,2000\n");
  check_three("timestamp (ms),rpm\n1714560000000,800\n1714560005000,1000.5\n1714560010000,2000\n");
}

TEST_CASE("a time column without a unit is judged by its steps, and says so") {
  const auto rows = [](double step, int count) {
    std::string text = "time,rpm\n";
    for (int i = 0; i < count; ++i) text += fmt::format("{},{}\n", i * step, 800 + i);
    return text;
  };
  const SpeedLog milliseconds = log_of(rows(250, 41), 10.0);  // 4 a second
  CHECK(milliseconds.points.back().time.value == doctest::Approx(10.0));
  CHECK(warns(milliseconds, "taken as milliseconds"));
  const SpeedLog fast = log_of(rows(20, 501), 10.0);  // 50 a second
  CHECK(fast.points.back().time.value == doctest::Approx(10.0));
  const SpeedLog seconds = log_of(rows(0.25, 41), 10.0);
  CHECK(seconds.points.back().time.value == doctest::Approx(10.0));
  CHECK(warns(seconds, "taken as seconds"));
  const SpeedLog by_hand = log_of(rows(20, 4), 60.0);  // three lines written by hand
  CHECK(by_hand.points.back().time.value == doctest::Approx(60.0));
  CHECK_FALSE(warns(log_of("time (s),rpm\n0,800\n1,900\n", 1.0), "taken as"));
}

TEST_CASE("SAE J1979 service 01: parameter 0C is (256 A + B)/4 rpm, 0D is A km/h") {
  // Published examples: 41 0C 1A F8 is 1726 rpm; 0B B8 is 750 rpm; 29 is 41 km/h.
  const SpeedLog log = log_of(
      "0,0C,1AF8\n40,0D,29\n80,04,7F\n120,05,5A\n"
      "1000,0C,0BB8\n2000,0C,NO DATA\n2100,0D,00\n3000,0c,410C1AF8\n",
      3.0);
  REQUIRE(log.points.size() == 3);
  CHECK(log.points[0].speed.value == 1726.0);
  CHECK(log.points[1].speed.value == 750.0);
  CHECK(log.points[1].time.value == doctest::Approx(1.0));
  CHECK(log.points[2].speed.value == 1726.0);
  REQUIRE(log.road.size() == 2);
  CHECK(log.road[0].kmh == 41.0);
  CHECK(log.road[0].time.value == doctest::Approx(0.04));
  CHECK(log.road[1].kmh == 0.0);
  CHECK(warns(log, "1 rows of engine speed hold no answer"));
  // The largest answer: FF FF is 16383.75 rpm.
  CHECK(log_of("0,0C,FFFF\n1000,0C,FFFF\n", 1.0).points[0].speed.value == 16383.75);
}

TEST_CASE("answers a row with a header, in seconds, and with blanks between bytes") {
  const SpeedLog log =
      log_of("time (s);pid;raw\n0;0x0C;41 0C 1A F8\n0,5;0x0D;29\n1;0x0C;0B B8\n", 1.0);
  REQUIRE(log.points.size() == 2);
  CHECK(log.points[0].speed.value == 1726.0);
  CHECK(log.points[1].time.value == doctest::Approx(1.0));
  const Error none = refusal("0,0D,29\n1000,0D,29\n", 1.0);
  CHECK(none.problem() == "has no answer for engine speed (parameter 0C)");
}

TEST_CASE("road speed comes along, miles turned into kilometres") {
  const SpeedLog log = log_of("time (s),rpm,vehicle speed (mph)\n0,800,0\n1,900,100\n", 1.0);
  REQUIRE(log.road.size() == 2);
  CHECK(log.road[1].kmh == doctest::Approx(160.9344));
}

TEST_CASE("rows that repeat a time are left out, all but the first, with a warning") {
  const SpeedLog log = log_of("time (s),rpm\n0,800\n0,810\n1,900\n1,910\n1,920\n2,1000\n", 2.0);
  REQUIRE(log.points.size() == 3);
  CHECK(log.points[1].speed.value == 900.0);
  CHECK(warns(log, "3 rows repeat the time"));
}

TEST_CASE("gaps of more than 2 s are named") {
  const SpeedLog log =
      log_of("time (s),rpm\n0,800\n1,900\n3.5,1000\n5.5,1000\n9,900\n10,900\n", 10.0);
  CHECK(warns(log, "no speed for more than 2 s, 1.0 to 3.5 and 5.5 to 9.0 s; taken"));
  REQUIRE(log.known.size() == 1);
  CHECK(log.known.front().high == 10.0);
}

TEST_CASE("what a logger missed is not known; what was written by hand changes evenly") {
  // A row a second, the engine's speed lost from 4 to 8 s.
  const SpeedLog log =
      log_of("time (s),rpm\n0,800\n1,800\n2,800\n3,800\n4,800\n8,900\n9,900\n10,900\n", 10.0);
  REQUIRE(log.known.size() == 2);
  CHECK(log.known[0].low == 0.0);
  CHECK(log.known[0].high == 4.0);
  CHECK(log.known[1].low == 8.0);
  CHECK(log.known[1].high == 10.0);
  CHECK(log.warnings.empty());
  const SpeedLog ramp = log_of("time (s),rpm\n0,900\n5,900\n17,2600\n20,2600\n", 20.0);
  REQUIRE(ramp.known.size() == 1);
  CHECK(ramp.known.front().width() == 20.0);
  CHECK(warns(ramp, "taken as changing evenly"));
}

TEST_CASE("a log must cover 80 % of the recording, and says what it covers") {
  const char* text = "time (s),rpm\n1,800\n9,900\n";
  const SpeedLog log = log_of(text, 10.0);
  REQUIRE(log.known.size() == 1);
  CHECK(log.known.front().low == 1.0);
  CHECK(log.known.front().high == 9.0);
  const Error error = refusal(text, 10.1);
  CHECK(error.fault() == Fault::file);
  CHECK(error.problem() == "gives the speed from 1.0 to 9.0 s, but the recording lasts 10.1 s");
}

TEST_CASE("a standing engine is refused during the recording, and dropped outside") {
  const Error error = refusal("time (s),rpm\n0,800\n1,0\n2,800\n", 2.0);
  CHECK(error.where() == "log.csv, line 3");
  CHECK(error.problem() == "the engine stands still (0 rpm) at 1.00 s of the recording");
  const SpeedLog log = log_of("time (s),rpm\n-2,0\n0,800\n2,800\n3,0\n", 2.0);
  CHECK(log.points.size() == 2);
}

TEST_CASE("every refusal names the line and what is wrong") {
  struct Refused {
    const char* text;
    const char* where;
    const char* problem;
  };
  for (const Refused& refused : std::vector<Refused>{
           {"time (s),rpm\n0,800\n1,fast\n", "log.csv, line 3", "'fast' is not an engine speed"},
           {"time (s),rpm\n0,800\nsoon,800\n", "log.csv, line 3", "'soon' is not a time"},
           {"time (s),rpm\n0,800\n1,-5\n", "log.csv, line 3", "-5 rpm cannot be an engine speed"},
           {"time (s),rpm\n0,800\n1,30001\n", "log.csv, line 3",
            "30001 rpm cannot be an engine speed"},
           {"time (s),rpm\n0,800\n1,inf\n", "log.csv, line 3", "'inf' is not an engine speed"},
           {"time (s),rpm\n0,800\n2,800\n1,800\n", "log.csv, line 4",
            "time goes backwards, from 2.000 to 1.000 s"},
           {"time (s),rpm\n0,5,800,5\n", "log.csv, line 2", "has 4 cells where the header has 2"},
           {"zeit,wert\n0,800\n", "log.csv, line 1",
            "has no columns of time and engine speed; there are 'zeit', 'wert'"},
           {"Noise at idle\n", "log.csv, line 1",
            "has no columns of time and engine speed; there are 'Noise at idle'"},
           {"time (s),rpm\n0,\n1,\n", "log.csv", "has no row with an engine speed"},
           {"time (s),rpm\n", "log.csv", "has no row with an engine speed"},
           {"", "log.csv", "holds no rows"},
           {"\xFF\xFEt\0i\0", "log.csv", "is text in UTF-16"},
           {"time (s),rpm\n0,800\n1e300,800\n", "log.csv, line 3", "1e+300 s cannot be a time"},
       }) {
    CAPTURE(refused.text);
    const Error error = refusal(refused.text, 1.0);
    CHECK(error.fault() == Fault::file);
    CHECK(error.where() == refused.where);
    CHECK(error.problem() == refused.problem);
    CHECK_FALSE(error.remedy().empty());
  }
  CHECK(refusal(std::string_view("time\0", 5), 1.0).problem() == "is not a text file");
}

TEST_CASE("a log is read from a file with any name") {
  const test::ScratchFolder folder;
  const auto file =
      test::write_text(folder / "Drehzahl äöü 速度.csv", "time (s),rpm\n0,800\n5,900\n");
  CHECK(read_speed_log(file, 5.0_s).points.size() == 2);
  CHECK_THROWS_AS(read_speed_log(folder / "none.csv", 5.0_s), Error);
}

TEST_CASE("numbers with points and commas") {
  const auto number = [](std::string_view text, bool comma) {
    return number_in(CsvCell{text, false}, comma).value_or(-1.0);
  };
  CHECK(number("1726.5", false) == 1726.5);
  CHECK(number("+1726.5", false) == 1726.5);
  CHECK(number("1726,5", true) == 1726.5);
  CHECK(number("1.726,5", true) == 1726.5);
  CHECK(number("1,726.5", true) == 1726.5);
  CHECK(number("1726,5", false) == -1.0);
  CHECK(number("1,2,3", true) == -1.0);
  CHECK(number("0x10", true) == -1.0);
  CHECK(number("12 rpm", true) == -1.0);
}
