#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "src/report/number_text.h"
#include "src/report/scale.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/band_tools.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/panels/sound_map.h"
#include "ui/panels/sound_panels.h"
#include "ui/state/desk.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

void put_sound_tools(Frame& frame, Area area, const TakeSound* sound) {
  const ViewState& view = frame.state.view;
  constexpr std::array<std::string_view, 2> kinds{"Spectrogram", "Order map"};
  const bool orders = view.sound_plot == SoundPlot::orders;
  if (const auto chosen =
          choice(frame, "sound.plot",
                 area.take_left(frame.u(area.w < frame.u(480) ? 218 : 236), frame.u(10)), kinds,
                 orders ? 1 : 0))
    frame.wish(ShowSoundAs{*chosen == 1 ? SoundPlot::orders : SoundPlot::spectrogram});
  const ButtonWords whole{
      .label = "Whole sound",
      .enabled = view.sound.time_s || view.sound.frequency_hz || view.sound.order};
  if (button(frame, "sound.whole", area.take_left(button_width(frame, whole), frame.u(10)), whole))
    frame.wish(SetSound{});
  put_band_tools(frame, area);
  if (sound == nullptr) return;
  const std::string words =
      fmt::format("{} at {}, {:.1f} s", sound->id, sound->point, sound->seconds);
  if (text_width(frame.look.fonts.note, words) <= area.w)  // else the list says it
    put_line(frame.look.fonts.note, area, frame.theme().quiet, words, Side::right);
}

/// Where there is little room the spectra go first.
constexpr float kLeastForSpectra = 300;

/// Two points are heard in turn by keys as well.
constexpr float kLeastForTwoPoints = 330;

/// At the foot of `area`, which it is taken from.
void put_transport_bar(Frame& frame, Area& area) {
  const float height = transport_height(frame, area.w - frame.u(2 * kPad)) + frame.u(20);
  const Area bar = area.take_bottom(height, frame.u(kGap));
  Area inner = card(frame, bar, "");
  inner.y = bar.y + frame.u(12);
  inner.h = bar.h - frame.u(16);
  put_transport(frame, inner);
}

void put_sound_views(Frame& frame, Area area, const TakeSound& sound) {
  if (area.h > frame.u(kLeastForSpectra)) {
    const float share = frame.state.view.compared.empty() ? 0.34F : 0.45F;
    const Area spectrum = area.take_bottom(std::max(frame.u(150), area.h * share), frame.u(kGap));
    put_spectra(frame, card(frame, spectrum, ""), sound);
  }
  Area upper = card(frame, area, "");
  const float wave = upper.h > frame.u(220) ? 50.0F : 26.0F;
  put_waveform(frame, upper.take_top(frame.u(wave), frame.u(6)), sound);
  put_sound_map(frame, upper, sound);
}

}  // namespace

void draw_listen(Frame& frame, const Area& area) {
  Area rest = area;
  const auto& picked = frame.state.view.selection.take;
  if (picked) put_transport_bar(frame, rest);
  Area list = rest.take_left(std::max(frame.u(276), rest.w * 0.25F), frame.u(kGap));
  if (list.h > frame.u(kLeastForTwoPoints))
    put_two_points(frame, card(frame, list.take_bottom(frame.u(152), frame.u(kGap)), "Two points",
                               "at one speed"));
  put_takes_to_pick(frame, card(frame, list, "Takes", "Ctrl: compare"));
  const auto sound = picked ? frame.sounds.find(*picked) : nullptr;
  put_sound_tools(frame, rest.take_top(frame.u(kTouch), frame.u(8)), sound.get());
  if (sound) return put_sound_views(frame, rest, *sound);
  const Area inner = card(frame, rest, "");
  const std::string fault = picked ? frame.sounds.fault_of(*picked) : std::string();
  nothing_to_show(frame, inner,
                  !fault.empty() ? fault
                  : picked       ? "Reading the take …"
                                 : "Pick a take on the left.");
}

}  // namespace howl::desk
