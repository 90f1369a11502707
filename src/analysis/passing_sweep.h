#pragma once

#include "dsp/time_spans.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// How far from a hold's speed a sweep may run and stand in for a hold, as a fraction to either
/// side. Over a span with its middle at that speed, what a level gains with speed it also loses.
/// Our choice.
inline constexpr double kPassing = 0.05;

/// When `sweep` runs at the speed of `hold`, within kPassing. Empty where it is no sweep or `hold`
/// no hold, where its road speed is not like the hold's, where it does not pass the speed on both
/// sides, or so quickly that less than 1.5 s are left.
TimeSpans passes(const TakeAudio& sweep, const TakeAudio& hold);

/// The sweep with all else left out; nothing is left where it does not pass.
TakeAudio passing_part(const TakeAudio& sweep, const TakeAudio& hold);

}  // namespace howl
