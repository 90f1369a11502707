#pragma once

#include "ui/look/frame.h"
#include "ui/state/recording.h"

namespace howl::desk {

/// Parts of the step 'record'.

/// What was recorded, and how well.
void put_recorded_takes(Frame& frame, const Area& area);
/// What to record next, and the button that begins it.
void put_record_plan(Frame& frame, const Area& area);
/// Which microphone: each press takes the next of those that there are.
void put_microphone(Frame& frame, Area area);
/// A recording that is going on, from 'hold the probe there' to 'keep it'.
void put_recording(Frame& frame, const Area& area, const SessionView& view);
/// The level, large enough to be read from under a vehicle.
void put_level_meter(Frame& frame, const Area& area, const MeterReading& meter);
/// The number pad for the engine's speed, over all else.
void put_number_pad(Frame& frame, const Area& view);

}  // namespace howl::desk
