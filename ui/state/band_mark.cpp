#include "ui/state/band_mark.h"

#include <algorithm>
#include <cmath>

#include "src/report/number_text.h"
#include "ui/state/desk.h"

namespace howl::desk {

std::optional<AnalysisRequest::Band> band_of(const BandMark& mark) {
  const double steps = mark.unit == AnalysisRequest::Band::Unit::hertz ? 1 : 100;
  const auto rounded = [&](double value) {
    return std::max(1.0, std::round(value * steps)) / steps;
  };
  const Interval range{rounded(std::min(mark.from, mark.to)),
                       rounded(std::max(mark.from, mark.to))};
  if (!(range.low < range.high)) return std::nullopt;
  return AnalysisRequest::Band{mark.unit, range};
}

bool same_band(const std::optional<AnalysisRequest::Band>& a,
               const std::optional<AnalysisRequest::Band>& b) {
  if (!a || !b) return !a && !b;
  return a->unit == b->unit && a->range == b->range;
}

bool can_mark_band(const DeskState& state) {
  return state.opened && !state.settings.class_mode && !state.opened->value.takes.empty();
}

std::optional<AnalysisRequest::Band> band_in_use(const DeskState& state) {
  if (state.request.band) return state.request.band;
  const Analysis* const analysis = state.analysis();
  // One that was given before, and is not any more, is no find.
  if (analysis == nullptr || !analysis->suspect_band || analysis->suspect_band->chosen_by_user)
    return std::nullopt;
  return analysis->suspect_band->band;
}

std::string band_words(const DeskState& state) {
  const auto band = band_in_use(state);
  if (!band) return "no band yet";
  return band_text(*band) + (state.request.band ? ", set by hand" : ", found");
}

}  // namespace howl::desk
