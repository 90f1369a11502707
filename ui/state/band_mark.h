#pragma once

#include <optional>
#include <string>

#include "src/analysis/analysis.h"

namespace howl::desk {

struct DeskState;

/// A band that is dragged over with the mouse, in the plot in which that began.
struct BandMark {
  std::string plot;
  AnalysisRequest::Band::Unit unit{};
  double from{};  ///< Hz, or an order; either end first
  double to{};
};

/// To the whole hertz or hundredth of an order, so that what is shown can be typed again; none
/// where that leaves nothing between its ends.
std::optional<AnalysisRequest::Band> band_of(const BandMark& mark);

bool same_band(const std::optional<AnalysisRequest::Band>& a,
               const std::optional<AnalysisRequest::Band>& b);

/// Whether a band can be given by hand now: a class sees the one that was prepared.
bool can_mark_band(const DeskState& state);

/// The band that levels are compared in: given by hand, else the one that was found.
std::optional<AnalysisRequest::Band> band_in_use(const DeskState& state);
/// "320 … 380 Hz, set by hand", "orders 9.50 … 10.50, found", "no band yet"
std::string band_words(const DeskState& state);

}  // namespace howl::desk
