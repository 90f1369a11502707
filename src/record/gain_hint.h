#pragma once

#include <optional>
#include <string>

#include "dsp/level_meter.h"

namespace howl {

/// What to do about the gain, from the highest peak so far; none while it is right. Peaks are best
/// between −20 and −6 dB re full scale, which leaves room for a bump (common practice); the advice
/// leads to −12 dB, in steps of whole dB. Where samples were clipped, how far the peak would have
/// gone is not known: a step of 12 dB is advised.
std::optional<std::string> gain_hint(const MeterReading& reading);

}  // namespace howl
