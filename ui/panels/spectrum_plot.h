#pragma once

#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/statistics.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/pictures/spectra.h"

namespace howl::desk {

/// Spectra over one axis of frequency, or of orders, laid over one another or the first less each
/// other.
struct ShownSpectra {
  std::string_view name;  ///< of what can be touched: "sound.spectrum"
  std::vector<NamedSpectrum> spectra;
  std::vector<ImU32> colours;  ///< of each
  bool difference{};           ///< only where there are two or more
  Interval range;              ///< Hz, or orders
  bool orders{};               ///< what the spectra are over
  bool offers_axis{};          ///< whether that can be chosen here
  /// By which Hz and order are told at once, and the cursor, in Hz, stands over orders.
  std::optional<double> rpm;
};
using SpectrumCurves = std::vector<std::vector<PlotPoint>>;

/// What else is drawn, by whoever knows what the spectra are of.
struct SpectrumMarks {
  std::function<bool(const Plot&, const Touch&)> takes_mouse;  ///< true: nothing else may
  std::function<void(const Plot&)> under;
  std::function<void(const Plot&, const SpectrumCurves&)> over;
};

/// The plot with the choice between the two ways where there are several; moved along and looked
/// at nearer by the mouse, with the cursor that all views of sound share.
void put_spectrum_plot(Frame& frame, const Area& area, const ShownSpectra& shown,
                       const SpectrumMarks& marks);

}  // namespace howl::desk
