#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <string>
#include <string_view>

#include "src/report/number_text.h"
#include "src/report/scale.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/band_tools.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/panels/pins.h"
#include "ui/panels/sound_map.h"
#include "ui/panels/sound_panels.h"
#include "ui/state/desk.h"
#include "ui/state/pins.h"
#include "ui/state/shown_sound.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

constexpr std::array<std::string_view, 4> kPlots{"Spectrogram", "Order map", "Spectrum",
                                                 "Waveform"};
constexpr std::array<std::string_view, 4> kShortPlots{"Map", "Orders", "Spectrum", "Wave"};

// In layout units.
constexpr float kPlotsWidth = 372;
constexpr float kLeastForNames = 368;
constexpr float kZoomWidth = 3 * kTouch + 8;

constexpr double kNearer = 0.6;  // by a press

/// Nearer and farther, in time; in a spectrum, which has none, in what it is over. With little room
/// there is only the way back to all of it.
void put_zoom(Frame& frame, Area area, bool roomy) {
  const ViewState& view = frame.state.view;
  const bool flat = view.sound_plot == SoundPlot::spectrum;
  const bool zoomed = view.sound.time_s || view.sound.frequency_hz || view.sound.order;
  const auto wish = [&](double by) {
    return flat ? ZoomPlot{SoundPart::spectrum, 1, by} : ZoomPlot{SoundPart::map, by, 1};
  };
  const auto offer = [&](std::string_view name, Sign sign, bool possible, Intention made) {
    const Area place = area.take_left(frame.u(kTouch), frame.u(4));
    if (button(frame, name, place, {.label = "", .sign = sign, .enabled = possible}))
      frame.wish(std::move(made));
  };
  if (roomy) offer("sound.farther", Sign::minus, zoomed, wish(1 / kNearer));
  if (roomy) offer("sound.nearer", Sign::plus, true, wish(kNearer));
  offer("sound.whole", Sign::whole, zoomed, SetSound{});
}

bool has_class_tools(const Frame& frame) {
  const SoundPlot plot = frame.state.view.sound_plot;
  return frame.state.settings.class_mode &&
         (plot == SoundPlot::spectrogram || plot == SoundPlot::orders);
}

constexpr std::string_view kOrderLine = "Order line";
constexpr std::string_view kNote = "Note";

float class_tools_width(const Frame& frame) {
  if (!has_class_tools(frame)) return 0;
  return button_width(frame, {.label = kOrderLine}) + button_width(frame, {.label = kNote}) +
         frame.u(10);
}

/// What a teacher does at the cursor, where that has room: the keys do it too.
void put_class_tools(Frame& frame, Area& area) {
  if (!has_class_tools(frame)) return;
  const bool possible = frame.state.view.sound.cursor_hz.has_value();
  const auto offer = [&](std::string_view name, std::string_view label, Intention wish) {
    const ButtonWords words{.label = label, .enabled = possible};
    const float wide = button_width(frame, words);
    if (wide <= area.w && button(frame, name, area.take_left(wide, frame.u(10)), words))
      frame.wish(std::move(wish));
  };
  offer("sound.order-here", kOrderLine, ReadOrderHere{});
  offer("sound.pin-here", kNote, PinHere{});
}

/// Which plot, the whole sound again, and what it is the sound of where that has room.
void put_sound_tools(Frame& frame, Area area, const TakeSound* sound) {
  const ViewState& view = frame.state.view;
  const float gap = frame.u(10);
  const float band = band_tools_least(frame);
  const bool roomy =
      area.w > frame.u(kPlotsWidth + kZoomWidth) + 2 * gap + band + class_tools_width(frame);
  const float zoom = frame.u(roomy ? kZoomWidth : kTouch);
  const Area plots =
      area.take_left(std::min(frame.u(kPlotsWidth), area.w - zoom - gap - band), gap);
  const auto& names = plots.w < frame.u(kLeastForNames) ? kShortPlots : kPlots;
  if (const auto chosen =
          choice(frame, "sound.plot", plots, names, static_cast<std::size_t>(view.sound_plot)))
    frame.wish(ShowSoundAs{static_cast<SoundPlot>(*chosen)});
  put_zoom(frame, area.take_left(zoom, gap), roomy);
  put_band_tools(frame, area);
  put_class_tools(frame, area);
  if (sound == nullptr) return;
  const std::string words =
      fmt::format("{} at {}, {:.1f} s", sound->id, sound->point, sound->seconds);
  ImFont* const font = frame.look.fonts.note;
  if (text_width(font, words) < area.w)  // else the list says it
    put_line(font, area, frame.theme().quiet, words, Side::right);
}

/// Lower than this, the player stands at the side, so that the plot keeps its height.
constexpr float kLowView = 430;
/// What the spectrum needs to be shown below the plot; else it is one press away. An order map
/// needs more, as its lines lie closer.
constexpr float kLeastForSpectra = 340;
constexpr float kLeastForOrdersAndSpectra = 520;
/// What the map has at least before waveform and spectrum are as high as they like.
constexpr float kHighViews = 520;
/// What takes and two points need to be shown one above the other.
constexpr float kLeastForTwoPoints = 330;
constexpr float kLeastForPlayer = 372;

/// At the foot of `area`, which it is taken from.
void put_transport_bar(Frame& frame, Area& area) {
  const float height = transport_height(frame, area.w - frame.u(2 * kPad)) + frame.u(20);
  const Area bar = area.take_bottom(height, frame.u(kGap));
  Area inner = card(frame, bar, "");
  inner.y = bar.y + frame.u(12);
  inner.h = bar.h - frame.u(16);
  put_transport(frame, inner);
}

void put_sound_views(Frame& frame, Area area, const std::shared_ptr<const TakeSound>& taken) {
  const TakeSound& sound = *taken;
  const bool compares = !frame.state.view.compared.empty();
  const bool high = area.h > frame.u(kHighViews);
  const float wave = high ? 50.0F : 26.0F;
  if (frame.state.view.sound_plot == SoundPlot::spectrum) {
    Area inner = card(frame, area, "");
    if (area.h > frame.u(kLeastForSpectra))  // else the spectrum has all of it
      put_waveform(frame, inner.take_top(frame.u(wave), frame.u(6)), sound);
    return put_spectra(frame, inner, taken);
  }
  const bool roomy =
      area.h > frame.u(shows_orders(frame.state, sound) && !compares ? kLeastForOrdersAndSpectra
                                                                     : kLeastForSpectra);
  if (roomy) {
    const float share = compares ? 0.45F : 0.32F;
    const float least = high ? 150.0F : 128.0F;
    const Area spectrum = area.take_bottom(std::max(frame.u(least), area.h * share), frame.u(kGap));
    put_spectra(frame, card(frame, spectrum, ""), taken);
  }
  Area upper = card(frame, area, "");
  put_waveform(frame, upper.take_top(frame.u(wave), frame.u(6)), sound);
  frame.state.view.sound_plot == SoundPlot::waveform ? put_wave_plot(frame, upper, sound)
                                                     : put_sound_map(frame, upper, sound);
}

void put_player(Frame& frame, const Area& area) {
  scrolled(frame, "player", area, [&](Area& rows) {
    rows.w = area.w;  // it is as high as it needs
    put_transport(frame, rows.take_top(transport_height(frame, rows.w)));
  });
}

void put_two_points_card(Frame& frame, const Area& area) {
  put_two_points(frame, card(frame, area, "Two points", "at one speed"));
}

void put_takes_card(Frame& frame, const Area& area) {
  put_takes_to_pick(frame, card(frame, area, "Takes", "+ lays spectra over"));
}

/// One part at a time, its switch above.
struct InTurn {
  bool player{};  ///< is one of the parts
  bool note{};    ///< one that is written takes their place
};
void put_side_in_turn(Frame& frame, Area area, const InTurn& how) {
  constexpr std::array<std::string_view, 3> names{"Takes", "A and B", "Player"};
  const std::size_t shown =
      put_parts_in_turn(frame, area, std::span(names).first(how.player ? 3 : 2));
  if (how.note && writes_pin(frame.state)) return put_pin_editor(frame, area);
  if (shown == 2) return put_player(frame, area);
  if (shown == 1) return put_two_points(frame, area);
  put_takes_to_pick(frame, area);
}

/// The takes, two points to switch between, a note that is written; in a low view the player too.
void put_side(Frame& frame, Area area, bool low) {
  if (low && area.h < frame.u(kLeastForPlayer)) return put_side_in_turn(frame, area, {true, true});
  if (low) {
    const float height = transport_height(frame, area.w);
    put_transport(frame, area.take_bottom(height, frame.u(kGap)));
    return put_side_in_turn(frame, area, {false, true});
  }
  if (writes_pin(frame.state))
    put_pin_editor(frame, area.take_bottom(pin_editor_height(frame), frame.u(kGap)));
  if (area.h < frame.u(kLeastForTwoPoints)) return put_side_in_turn(frame, area, {});
  put_two_points_card(frame, area.take_bottom(frame.u(152), frame.u(kGap)));
  put_takes_card(frame, area);
}

/// Wide enough for a take's point, its warning and its button; the plots have the rest.
float side_width(const Frame& frame, float width) {
  return std::max({frame.u(276), std::min(frame.u(296), 0.3F * width), 0.25F * width});
}

}  // namespace

void draw_listen(Frame& frame, const Area& area) {
  Area rest = area;
  const auto& picked = frame.state.view.selection.take;
  const bool low = area.h < frame.u(kLowView);
  if (picked && !low) put_transport_bar(frame, rest);
  put_side(frame, rest.take_left(side_width(frame, rest.w), frame.u(kGap)),
           low && picked.has_value());
  const auto sound = picked ? frame.sounds.find(*picked) : nullptr;
  put_sound_tools(frame, rest.take_top(frame.u(kTouch), frame.u(8)), sound.get());
  if (sound) return put_sound_views(frame, rest, sound);
  const Area inner = card(frame, rest, "");
  const std::string fault = picked ? frame.sounds.fault_of(*picked) : std::string();
  nothing_to_show(frame, inner,
                  !fault.empty() ? fault
                  : picked       ? "Reading the take …"
                  : frame.state.opened->value.takes.empty()
                      ? "There are no takes yet: record one, or add recordings."
                      : "Pick a take on the left.");
}

}  // namespace howl::desk
