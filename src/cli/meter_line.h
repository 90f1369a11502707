#pragma once

#include <optional>
#include <string>

#include "dsp/units.h"
#include "src/record/record_take.h"

namespace howl {

/// One line that says how a recording goes: time, and for each channel a bar, peak and level, and
/// what is wrong. `sample_rate` in Hz; `length` of the take where it is fixed. Peaks are in dB re
/// full scale, levels in dB re full-scale sine.
std::string meter_line(const RecordingView& view, double sample_rate,
                       std::optional<Seconds> length);

}  // namespace howl
