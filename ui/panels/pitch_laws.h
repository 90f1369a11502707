#pragma once

#include <string>

#include "src/analysis/analysis.h"
#include "ui/look/plot.h"

namespace howl::desk {

/// The laws that were fitted to a tone's pitch, in the plot and beside it. The likeliest is a
/// strong line, each other a thin one with dashes of its own, so that no colour is needed to tell
/// them apart.

/// Curves with their 95 % intervals as faint bands, inside the plot's box only.
void put_law_curves(Frame& frame, const Plot& plot, const ToneResult& tone, ImU32 colour);
/// How much room their names want at the right of the plot.
float law_names_width(const Frame& frame, const ToneResult& tone);
/// Each at the end of its curve, with its chance.
void put_law_names(Frame& frame, const Plot& plot, const Area& area, const ToneResult& tone,
                   ImU32 colour);
/// One below the other: chance, and where the law lies with 95 %.
float law_rows_height(const Frame& frame, const ToneResult& tone);
void put_law_rows(Frame& frame, Area area, const ToneResult& tone);

/// "order 11.001 (10.990 … 11.012)", "638.8 Hz (637.9 … 639.6)": what is in brackets is the 95 %
/// interval.
std::string law_figures(const FittedLaw& law);
/// Where a law lies at a speed.
double law_pitch_hz(const FittedLaw& law, double rpm);
Interval law_pitch_ci95_hz(const FittedLaw& law, double rpm);
/// What goes by the road has no curve against engine speed.
bool has_curve(const FittedLaw& law);

}  // namespace howl::desk
