#include <algorithm>
#include <cmath>
#include <limits>

#include "ui/state/desk.h"
#include "ui/state/shown_sound.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

/// As near to a line as a hand would point at it, as a share of what is shown.
constexpr double kReach = 0.03;

double middle_of(const Interval& range) { return 0.5 * (range.low + range.high); }

/// Moved along so that it holds `value`, as wide as it was.
Interval holding(Interval range, double value, double whole) {
  const double by = value - std::clamp(value, range.low, range.high);
  return by == 0 ? range : kept_inside({range.low + by, range.high + by}, whole);
}

/// Where the cursor stands in a plot, in the units of its axes; in the middle where there is none,
/// or where its order is not known.
struct PlotCursor {
  double time_s{};
  double row{};
};

PlotCursor cursor_in(const DeskState& state, const TakeSound& sound, const PlotRows& rows) {
  const SoundView& view = state.view.sound;
  PlotCursor at{view.cursor_s.value_or(middle_of(shown_time(state, sound))), middle_of(rows.shown)};
  if (!view.cursor_hz) return at;
  if (!rows.as_order) return {at.time_s, *view.cursor_hz};
  if (const auto rpm = rpm_at(sound, at.time_s)) at.row = 60 * *view.cursor_hz / *rpm;
  return at;
}

/// None in a plot of orders where the speed is not known.
std::optional<double> hz_of(const TakeSound& sound, const PlotCursor& at, bool as_order) {
  if (!as_order) return at.row;
  const auto rpm = rpm_at(sound, at.time_s);
  return rpm ? std::optional(at.row * *rpm / 60) : std::nullopt;
}

/// What a tone sounds at, at a time of a take; nothing where it was not heard there.
std::optional<double> hz_of_tone(const ToneResult& tone, const TakeSound& sound, double time_s) {
  if (!is_of_take(tone, sound.id)) return std::nullopt;
  if (const auto rpm = rpm_at(sound, time_s); rpm && tone.order) return *tone.order * *rpm / 60;
  std::optional<double> hz;
  double nearest = std::numeric_limits<double>::infinity();
  for (const TrackPoint& point : tone.track) {
    const double away = std::abs(point.time_s - time_s);
    if (point.take != sound.id || away >= nearest) continue;
    nearest = away;
    hz = point.frequency_hz;
  }
  return hz;
}

/// The spectrum is of the whole take, so that a tone stands in it where it was measured.
const ToneResult* tone_near(const Analysis& analysis, const TakeSound& sound, double time_s,
                            double hz, double reach) {
  const ToneResult* found = nullptr;
  for (const ToneResult& tone : analysis.tones) {
    const auto at = hz_of_tone(tone, sound, time_s);
    if (!at || std::abs(*at - hz) > reach) continue;
    reach = std::abs(*at - hz);
    found = &tone;
  }
  return found;
}

}  // namespace

std::shared_ptr<const TakeSound> Desk::picked_sound() const {
  const auto& take = state_.view.selection.take;
  return take ? sounds_.find(*take) : nullptr;
}

void Desk::act(const StepCursor& wish) {
  const auto sound = picked_sound();
  if (!sound) return;
  SoundView& view = state_.view.sound;
  const PlotRows rows = rows_of(state_, *sound, wish.plot);
  const Interval time = shown_time(state_, *sound);
  PlotCursor at = cursor_in(state_, *sound, rows);
  // From where the speed is not known the cursor takes its frequency along.
  const bool has_row = hz_of(*sound, at, rows.as_order) || !view.cursor_hz;
  const bool flat = wish.plot == SoundPart::spectrum;  // frequency lies across
  const double along_rows = flat ? wish.across : wish.up;
  if (!flat) at.time_s = std::clamp(at.time_s + wish.across * time.width(), 0.0, sound->seconds);
  at.row = std::clamp(at.row + along_rows * rows.shown.width(), 0.0, rows.whole);
  if (!flat) view.cursor_s = at.time_s;
  if (const auto hz = hz_of(*sound, at, rows.as_order); hz && has_row) view.cursor_hz = hz;
  if (!flat && view.time_s) view.time_s = holding(*view.time_s, at.time_s, sound->seconds);
  if (has_row && !rows.shown.contains(at.row))
    set_rows(view, rows.as_order, holding(rows.shown, at.row, rows.whole));
}

void Desk::act(const ZoomPlot& wish) {
  const auto sound = picked_sound();
  if (!sound) return;
  SoundView& view = state_.view.sound;
  if (wish.time != 1) view = zoomed_time(view, sound->seconds, wish.time);
  if (wish.rows == 1) return;
  const PlotRows rows = rows_of(state_, *sound, wish.plot);
  const double at = cursor_in(state_, *sound, rows).row;
  set_rows(view, rows.as_order,
           zoomed(rows.shown, wish.rows, rows.shown.contains(at) ? std::optional(at) : std::nullopt,
                  rows.least, rows.whole));
}

void Desk::act(const PanPlot& wish) {
  const auto sound = picked_sound();
  if (!sound) return;
  SoundView& view = state_.view.sound;
  const bool flat = wish.plot == SoundPart::spectrum;
  if (!flat) view = moved_time(view, sound->seconds, wish.across);
  const PlotRows rows = rows_of(state_, *sound, wish.plot);
  const double by = (flat ? wish.across : wish.up) * rows.shown.width();
  if (by != 0)
    set_rows(view, rows.as_order,
             kept_inside({rows.shown.low + by, rows.shown.high + by}, rows.whole));
}

/// A tone that lies there, else an order line through the place.
void Desk::act(const PickAtCursor& wish) {
  const auto sound = picked_sound();
  if (!sound || !state_.view.sound.cursor_hz) return;
  const PlotRows rows = rows_of(state_, *sound, wish.plot);
  const PlotCursor at = cursor_in(state_, *sound, rows);
  const auto hz = hz_of(*sound, at, rows.as_order);
  const auto reach = hz_of(*sound, {at.time_s, kReach * rows.shown.width()}, rows.as_order);
  if (!hz || !reach) return;
  const ToneResult* const tone =
      state_.answer && !is_answer_hidden(state_)
          ? tone_near(state_.answer->analysis, *sound, at.time_s, *hz, *reach)
          : nullptr;
  if (tone != nullptr) return act(PickTone{tone->id});
  if (wish.plot == SoundPart::map) act(ReadOrderHere{});
}

}  // namespace howl::desk
