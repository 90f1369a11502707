#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "src/report/number_text.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/sound_panels.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/shown_sound.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

constexpr double kFullScale = 32767;
constexpr double kLeastPeak = 1e-3;  // of full scale: silence is not blown up

/// The highest magnitude, as a share of full scale.
double peak_of(std::span<const Extent> parts) {
  int peak = 0;
  for (const Extent& part : parts)
    if (part.low <= part.high) peak = std::max({peak, int{part.high}, -int{part.low}});
  return peak / kFullScale;
}

/// The stretches of the waveform that lie in a time, with one on either side.
struct WavePiece {
  double first{};  ///< sample
  double step{};   ///< samples each
  std::vector<Extent> parts;
};
WavePiece piece_in(const TakeSound& sound, const Interval& time) {
  const double step = sound.wave.stretch();
  const double first = std::max(0.0, std::floor(time.low * sound.sample_rate / step) - 1) * step;
  const auto count =
      static_cast<std::size_t>(std::ceil((time.high * sound.sample_rate - first) / step)) + 1;
  return {first, step, sound.wave.parts(first, first + step * static_cast<double>(count), count)};
}

/// Nearer than a stretch a pixel: a curve through the stretches' middles, which are the samples
/// where the sound is held sample by sample.
void put_samples(Frame& frame, const Plot& plot, const TakeSound& sound, const Interval& time) {
  const WavePiece piece = piece_in(sound, time);
  std::vector<PlotPoint> points;
  for (std::size_t i = 0; i < piece.parts.size(); ++i) {
    const Extent& part = piece.parts[i];
    if (part.low > part.high) continue;
    const double at = piece.first + piece.step * (static_cast<double>(i) + 0.5) - 0.5;
    points.push_back({at / sound.sample_rate, 0.5 * (part.low + part.high) / kFullScale});
  }
  put_curve(plot, points, frame.theme().series[2], frame.u(1.6F));
}

void put_strokes(Frame& frame, const Plot& plot, std::span<const Extent> parts) {
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const ImU32 colour = frame.theme().series[2];
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (parts[i].low > parts[i].high) continue;
    const float x = plot.box.x + static_cast<float>(i) + 0.5F;
    const auto y = [&](int value) { return plot.at(plot.x.low, value / kFullScale).y; };
    list.AddLine({x, y(parts[i].high) - 0.5F}, {x, y(parts[i].low) + 0.5F}, colour);
  }
}

void act_on_wave(Frame& frame, const Plot& plot, const TakeSound& sound, const Interval& time) {
  const Touch touched = touch(frame, kMapName, plot.box);
  const ImGuiIO& io = ImGui::GetIO();
  SoundView view = frame.state.view.sound;
  if (touched.over && frame.mouse_moved && !frame.state.listen.at_s)
    view.cursor_s = plot.x_at(io.MousePos.x);
  if (touched.over && io.MouseWheel != 0)
    view = zoomed_time(view, sound.seconds, std::pow(0.8, static_cast<double>(io.MouseWheel)),
                       plot.x_at(io.MousePos.x));
  if (touched.over && io.MouseWheelH != 0)
    view = moved_time(view, sound.seconds, -0.1 * static_cast<double>(io.MouseWheelH));
  if (touched.held && io.MouseDelta.x != 0 && view.time_s) {
    const double by = -static_cast<double>(io.MouseDelta.x / plot.box.w) * time.width();
    view.time_s = kept_inside({time.low + by, time.high + by}, sound.seconds);
  }
  if (view != frame.state.view.sound) frame.wish(SetSound{view});
}

/// The time, and the highest peak within two pixels of it.
void put_reading_of_wave(Frame& frame, const Plot& plot, const TakeSound& sound,
                         const Interval& time) {
  if (const auto now = frame.state.listen.at_s) put_play_line(frame, plot.box, plot.at(*now, 0).x);
  const auto& cursor = frame.state.view.sound.cursor_s;
  if (!cursor || !time.contains(*cursor)) return;
  const double reach = 2 * time.width() / static_cast<double>(plot.box.w);
  const double peak = peak_of(sound.wave.parts((*cursor - reach) * sound.sample_rate,
                                               (*cursor + reach) * sound.sample_rate, 1));
  std::string words = fmt::format("{:.{}f} s", *cursor, time.width() < 1 ? 4 : 2);
  if (peak > 0)
    words += " · peak " + typeset(fixed_text(20 * std::log10(peak), 1)) + " dB of full scale";
  if (const auto rpm = rpm_at(sound, *cursor)) words += fmt::format(" · {:.0f} rpm", *rpm);
  const float x = plot.at(*cursor, 0).x;
  hairline({x, plot.box.y}, {x, plot.box.bottom()}, faded(frame.theme().ink, 0.7F));
  put_tag(frame, plot.box, {x + frame.u(8), plot.box.y + frame.u(20)}, words, frame.theme().ink);
}

}  // namespace

void put_wave_plot(Frame& frame, const Area& area, const TakeSound& sound) {
  const Interval time = shown_time(frame.state, sound);
  const auto pixels = static_cast<std::size_t>(std::max(1.0F, area.w));
  const double most =
      std::max(kLeastPeak, 1.08 * peak_of(sound.wave.parts(time.low * sound.sample_rate,
                                                           time.high * sound.sample_rate, pixels)));
  const Plot plot = begin_plot(frame, area, {"Time", "s", time.low, time.high, false},
                               {"Sound", "of full scale", -most, most, false});
  act_on_wave(frame, plot, sound, time);
  const InsidePlot inside(plot);
  const double a_pixel = time.width() * sound.sample_rate / static_cast<double>(plot.box.w);
  if (a_pixel < sound.wave.stretch())
    put_samples(frame, plot, sound, time);
  else
    put_strokes(frame, plot,
                sound.wave.parts(time.low * sound.sample_rate, time.high * sound.sample_rate,
                                 static_cast<std::size_t>(plot.box.w)));
  put_reading_of_wave(frame, plot, sound, time);
}

}  // namespace howl::desk
