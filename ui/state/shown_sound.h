#pragma once

#include <optional>
#include <string>

#include "dsp/statistics.h"
#include "ui/pictures/take_sound.h"
#include "ui/state/view_state.h"

namespace howl::desk {

struct DeskState;

/// What the plots of a take's sound show now, whether somebody chose it or not.

/// Where the tones of the take lie: what is shown when nothing else was chosen.
Interval usual_frequencies(const DeskState& state, const TakeSound& sound);
Interval shown_time(const DeskState& state, const TakeSound& sound);
Interval shown_frequencies(const DeskState& state, const TakeSound& sound);
Interval shown_orders(const DeskState& state, const TakeSound& sound);
/// Whether the map shows orders: that takes an engine that turns.
bool shows_orders(const DeskState& state, const TakeSound& sound);

/// None with the engine off, and where the speed is not known.
std::optional<double> rpm_at(const TakeSound& sound, double seconds);

/// A plot's vertical axis, or the spectrum's only one: what it shows, the least and the most that
/// it can show.
struct PlotRows {
  Interval shown;
  double least{};
  double whole{};
  bool as_order{};
};
PlotRows rows_of(const DeskState& state, const TakeSound& sound, SoundPart plot);
void set_rows(SoundView& view, bool as_order, const Interval& rows);

}  // namespace howl::desk
