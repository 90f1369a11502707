#include "ui/state/sound_moves.h"

#include <algorithm>

#include "src/case/find_take.h"
#include "ui/state/desk.h"

namespace howl::desk {

double seconds_of_picked_take(const DeskState& state) {
  const auto& picked = state.view.selection.take;
  if (state.opened == nullptr || !picked) return 0;
  const Take* const take = find_take(state.opened->value, *picked);
  return take == nullptr ? 0 : seconds_of(*take);
}

Interval kept_inside(Interval range, double whole) {
  const double width = std::min(range.width(), whole);
  const double low = std::clamp(range.low, 0.0, whole - width);
  return {low, low + width};
}

Interval zoomed(Interval range, double factor, std::optional<double> about, double least,
                double whole) {
  const double middle = about.value_or(0.5 * (range.low + range.high));
  const double share = range.width() > 0 ? (middle - range.low) / range.width() : 0.5;
  const double width = std::clamp(range.width() * factor, std::min(least, whole), whole);
  const double low = middle - share * width;
  return kept_inside({low, low + width}, whole);
}

SoundView zoomed_time(SoundView view, double seconds, double factor, std::optional<double> about) {
  const Interval now = view.time_s.value_or(Interval{0, seconds});
  if (!about && view.cursor_s && now.contains(*view.cursor_s)) about = view.cursor_s;
  const Interval next = zoomed(now, factor, about, kShortestView, seconds);
  if (next.width() >= seconds)
    view.time_s.reset();
  else
    view.time_s = next;
  return view;
}

SoundView moved_time(SoundView view, double seconds, double share) {
  const Interval now = view.time_s.value_or(Interval{0, seconds});
  const double by = share * now.width();
  if (view.time_s) view.time_s = kept_inside({now.low + by, now.high + by}, seconds);
  return view;
}

}  // namespace howl::desk
