#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "dsp/statistics.h"
#include "ui/state/band_mark.h"
#include "ui/state/steps.h"

namespace howl::desk {

/// What is picked. A tone picked anywhere is lit everywhere, and so are takes and points.
struct Selection {
  std::optional<std::string> tone;
  std::optional<std::string> take;
  std::optional<std::string> point;
  friend bool operator==(const Selection&, const Selection&) = default;
};

/// What of a take's sound the plots show, and where the reader points. Plots that share an axis
/// share its range, so that they move together.
struct SoundView {
  std::optional<Interval> time_s;        ///< none: the whole take
  std::optional<Interval> frequency_hz;  ///< none: what the plot thinks best
  std::optional<Interval> order;
  std::optional<double> cursor_s;
  std::optional<double> cursor_hz;
  friend bool operator==(const SoundView&, const SoundView&) = default;
};

/// Of the step 'listen', in view_state.parts: the player, after takes and two points.
inline constexpr std::size_t kPlayerPart = 2;

enum class SoundPlot { spectrogram, orders, spectrum, waveform };

/// Plots of a take's sound in which keys move a cursor.
enum class SoundPart { map, spectrum };

/// Everything about the window that is not the case's: plain data, so that it can be set and read
/// without a display.
struct ViewState {
  Step step{Step::complaint};
  Selection selection;
  SoundView sound;
  SoundPlot sound_plot{SoundPlot::spectrogram};
  std::vector<std::string> compared;  ///< takes whose spectra lie over that of the selected one
  bool before_after{};                ///< in Proof, instead of the next tests
  bool difference{};                  ///< of these, instead of laid over
  /// Whether spectra are over orders; none: where the speed changes, or the map shows orders.
  std::optional<bool> spectrum_orders;
  std::optional<double> read_order;  ///< an order line that is dragged to read an order
  bool line_grabbed{};               ///< while the mouse holds one
  /// Of each step, the part that is shown where there is no room for all of them at once.
  std::array<std::size_t, kSteps> parts{};
  bool mark_band{};                        ///< the next drag over a spectrum or map marks the band
  std::optional<BandMark> marking;         ///< while the mouse does
  std::optional<std::size_t> sketch_view;  ///< none: the one that holds the picked point
  std::optional<std::size_t> pin;          ///< the note that is picked
  bool write_pin{};                        ///< its text is to be typed next
  std::optional<std::string> pin_draft;    ///< what is typed for the picked note, not kept yet
  bool pins_hidden{};
  bool keys_shown{};
  bool cautions_shown{};
  bool answer_hidden{true};  ///< counts in class mode only: is_answer_hidden()
  /// Under Complaint, the workshop fact that was led to, and how often any was.
  std::optional<std::string> fact;
  std::size_t led_to_fact{};
  std::size_t next_test{};  ///< which of the next tests the bar shows
};

}  // namespace howl::desk
