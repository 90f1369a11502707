#pragma once

#include <string>

#include "dsp/time_spans.h"
#include "dsp/units.h"

namespace howl {

/// Checks that a speed known from `first` to `last` covers a recording: at least 80 %, else Error
/// in the name of `where`.
void require_coverage(Seconds first, Seconds last, Seconds length, const std::string& where,
                      const std::string& remedy);

/// Stretches of a recording in which nothing says the speed, given those in which something does
/// (rising, apart; none at all: throughout). Up to 0.5 s at either end are no such stretch: a row
/// of a log is as old as that anyway, and the speed there is taken as it is beside them.
TimeSpans without_speed(const TimeSpans& known, Seconds length);

/// "0.0 to 3.0 s", "0.0 to 3.0 and 18.8 to 20.0 s"; of more than three the rest as a number.
std::string places_of(const TimeSpans& spans);

}  // namespace howl
