#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// What the user typed, as values. The locale plays no part: the decimal sign is a point. `option`
/// is the option's name ("--rpm"). All throw Error (command fault) that names the option, quotes
/// what was typed and says how to write it.

/// A finite number.
double number_of(std::string_view text, std::string_view option);
/// Engine speed above 0 and up to 30000 rpm.
Rpm rpm_of(std::string_view text, std::string_view option);
/// The same of an engine that runs or is cranked: 100 rpm or more.
Rpm held_rpm_of(std::string_view text, std::string_view option);
/// "T0:N0,T1:N1,…": seconds from the start of the recording, strictly rising from 0 or later, and
/// rpm; at least two points.
std::vector<SpeedPoint> ramp_of(std::string_view text, std::string_view option);
/// "1500,2500": engine speeds of holds, at least one; 0 is the engine off.
std::vector<Rpm> holds_of(std::string_view text, std::string_view option);
/// "LOW:HIGH" with 0 < LOW < HIGH.
Interval range_of(std::string_view text, std::string_view option);
/// "KEY=VALUE", neither empty.
std::pair<std::string, std::string> key_value_of(std::string_view text, std::string_view option);
/// Each "BEFORE=AFTER", names of one probe point, neither empty; each point BEFORE once.
std::map<std::string, std::string> point_pairs_of(const std::vector<std::string>& texts,
                                                  std::string_view option);
/// A whole number from 1.
int channel_of(std::string_view text, std::string_view option);
/// A whole number from 1, of things to be counted.
int count_of(std::string_view text, std::string_view option);
/// "FIRST:SECOND", two lengths above 0.
std::pair<double, double> lengths_of(std::string_view text, std::string_view option);
/// A finite number above 0.
double positive_of(std::string_view text, std::string_view option);
/// A finite number, 0 or more.
double not_negative_of(std::string_view text, std::string_view option);

}  // namespace howl
