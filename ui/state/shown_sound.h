#pragma once

#include <optional>
#include <string>

#include "dsp/statistics.h"
#include "ui/pictures/take_sound.h"
#include "ui/state/view_state.h"

namespace howl::desk {

struct DeskState;

// The nearest that a plot can be looked at, in Hz and in orders.
inline constexpr double kNearestFrequencies = 20;
inline constexpr double kNearestOrders = 0.5;

/// What the plots of a take's sound show now, whether somebody chose it or not.

/// Where the tones of the take lie: what is shown when nothing else was chosen.
Interval usual_frequencies(const DeskState& state, const TakeSound& sound);
Interval shown_time(const DeskState& state, const TakeSound& sound);
Interval shown_frequencies(const DeskState& state, const TakeSound& sound);
Interval shown_orders(const DeskState& state, const TakeSound& sound);
/// Whether the map shows orders: that takes an engine that turns.
bool shows_orders(const DeskState& state, const TakeSound& sound);

/// Whether spectra are over orders: chosen, or as the take asks for. That takes the take's order
/// map.
bool spectrum_has_orders(const DeskState& state, const TakeSound& sound);
/// The speed by which the spectrum's cursor reads Hz and order at once: the take's, or where it
/// changes that at the cursor's time.
std::optional<double> rpm_of_spectrum(const DeskState& state, const TakeSound& sound);

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
