#pragma once

#include "dsp/statistics.h"
#include "ui/look/frame.h"
#include "ui/pictures/take_sound.h"

namespace howl::desk {

/// The views of one take's sound; they share its time and frequency axes and one cursor.
void put_waveform(Frame& frame, const Area& area, const TakeSound& sound);
/// The waveform of what is shown of a take, with its axes; put_waveform() is that of all of it.
void put_wave_plot(Frame& frame, const Area& area, const TakeSound& sound);
void put_sound_map(Frame& frame, const Area& area, const TakeSound& sound);
void put_spectra(Frame& frame, const Area& area, const std::shared_ptr<const TakeSound>& taken);

/// Play and stop, what is heard and how; broken into rows to the width.
void put_transport(Frame& frame, Area area);
float transport_height(const Frame& frame, float width);
/// To switch between two points at one speed.
void put_two_points(Frame& frame, Area area);
/// Where it plays.
void put_play_line(Frame& frame, const Area& area, float x);

}  // namespace howl::desk
