#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/time_spans.h"
#include "dsp/units.h"

namespace howl {

struct RoadSpeedPoint {
  Seconds time;
  double kmh{};
};

/// A speed log that fits its recording: times count from the start of the recording, rise strictly,
/// and all speeds are plausible.
struct SpeedLog {
  std::vector<SpeedPoint> points;
  std::vector<RoadSpeedPoint> road;
  /// Stretches from row to row, apart where rows are missing; may reach beyond the recording.
  TimeSpans known;
  std::vector<std::string> warnings;  ///< all that was assumed, repaired or left out
};

/// Reads a log of engine speed as CSV text.
///
/// Wide form: a header that names time and engine speed, in any order, and perhaps road speed; or
/// no header, then time and engine speed in this order. Row form: milliseconds, parameter, raw
/// answer of service 01 in hexadecimal; parameter 0C is (256 A + B)/4 rpm and 0D is A km/h (SAE
/// J1979).
///
/// Times: seconds or milliseconds by the header, else by their steps; or hh:mm:ss. Times that begin
/// more than 60 s after the end of the recording are a clock's and are moved to start at 0.
/// Rows that repeat a time are left out, all but the first. Times that go backwards, other text
/// than a gap in a speed cell, speeds below 0 or beyond 30 000 rpm, 0 rpm while the recording runs,
/// and a log that covers less than 80 % of the recording are refused: Error, naming the line.
///
/// Rows are missing where a log that has a speed every second or more often has none for more than
/// 2 s. In a log of few rows, as one written by hand, the speed changes evenly between them.
///
/// `log_name` appears in messages; `length` is that of the recording.
SpeedLog parse_speed_log(std::string_view text, const std::string& log_name, Seconds length);

/// The same from a file.
SpeedLog read_speed_log(const std::filesystem::path& file, Seconds length);

}  // namespace howl
