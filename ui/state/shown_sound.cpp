#include "ui/state/shown_sound.h"

#include <algorithm>

#include "ui/state/desk.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

double top_of(const LevelPyramid& map) {
  return map.row_step * static_cast<double>(std::max<std::size_t>(map.rows(), 2) - 1);
}

}  // namespace

std::optional<double> rpm_at(const TakeSound& sound, double seconds) {
  if (sound.engine_off || contains(sound.without_speed, seconds)) return std::nullopt;
  const double rpm = sound.speed.at(Seconds(seconds)).value;
  return rpm > 0 ? std::optional(rpm) : std::nullopt;
}

bool shows_orders(const DeskState& state, const TakeSound& sound) {
  return state.view.sound_plot == SoundPlot::orders && sound.orders;
}

bool spectrum_has_orders(const DeskState& state, const TakeSound& sound) {
  if (!sound.orders) return false;
  return state.view.spectrum_orders.value_or(shows_orders(state, sound) ||
                                             !steady_rpm(sound.speed, sound.seconds));
}

std::optional<double> rpm_of_spectrum(const DeskState& state, const TakeSound& sound) {
  if (sound.engine_off) return std::nullopt;
  if (const auto rpm = steady_rpm(sound.speed, sound.seconds)) return rpm;
  const auto& cursor = state.view.sound.cursor_s;
  return cursor ? rpm_at(sound, *cursor) : std::nullopt;
}

Interval shown_time(const DeskState& state, const TakeSound& sound) {
  return state.view.sound.time_s.value_or(Interval{0, sound.seconds});
}

Interval usual_frequencies(const DeskState& state, const TakeSound& sound) {
  double top = 800;
  if (const Analysis* const analysis = state.analysis())
    for (const ToneResult& tone : analysis->tones)
      if (is_of_take(tone, sound.id) &&
          (!tone.above_probe_range || state.view.selection.tone == tone.id))
        top = std::max(top, 1.45 * tone.frequency_hz.high);
  return {0, std::min(top, sound.sample_rate / 2)};
}

Interval shown_frequencies(const DeskState& state, const TakeSound& sound) {
  if (!state.view.sound.frequency_hz) return usual_frequencies(state, sound);
  return kept_inside(*state.view.sound.frequency_hz, sound.sample_rate / 2);
}

Interval shown_orders(const DeskState& state, const TakeSound& sound) {
  if (state.view.sound.order) return kept_inside(*state.view.sound.order, top_of(*sound.orders));
  double top = 14;
  if (const Analysis* const analysis = state.analysis())
    for (const ToneResult& tone : analysis->tones)
      if (tone.order && is_of_take(tone, sound.id) &&
          (!tone.above_probe_range || state.view.selection.tone == tone.id))
        top = std::max(top, 1.3 * *tone.order);
  return {0, std::min(top, top_of(*sound.orders))};
}

PlotRows rows_of(const DeskState& state, const TakeSound& sound, SoundPart plot) {
  if (plot == SoundPart::spectrum && spectrum_has_orders(state, sound))
    return {shown_orders(state, sound), kNearestOrders, top_of(*sound.orders), true};
  if (plot == SoundPart::spectrum)
    return {shown_frequencies(state, sound), kNearestFrequencies, sound.sample_rate / 2, false};
  if (shows_orders(state, sound))
    return {shown_orders(state, sound), kNearestOrders, top_of(*sound.orders), true};
  return {shown_frequencies(state, sound), kNearestFrequencies, top_of(sound.spectrogram), false};
}

void set_rows(SoundView& view, bool as_order, const Interval& rows) {
  (as_order ? view.order : view.frequency_hz) = rows;
}

}  // namespace howl::desk
