#include "src/report/spectrum_marks.h"

#include <algorithm>

#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr std::size_t kMostLabels = 12;
constexpr double kMarkLabelHeight = 15;

TextStyle mark_label_style() { return {.align = Align::centre, .halo = true}; }

/// Loudest first.
std::vector<SpectrumMark> marks_in_view(std::span<const SpectrumMark> marks, const Panel& panel) {
  std::vector<SpectrumMark> seen;
  for (const SpectrumMark& mark : marks) {
    const auto at = panel.place(mark.at);
    if (at && panel.box.contains(*at)) seen.push_back(mark);
  }
  std::stable_sort(seen.begin(), seen.end(),
                   [](const SpectrumMark& a, const SpectrumMark& b) { return a.at.y > b.at.y; });
  return seen;
}

}  // namespace

std::vector<PlacedMark> placed_marks(const Canvas& canvas, std::span<const SpectrumMark> marks,
                                     const Panel& panel, std::span<const Box> obstacles,
                                     std::span<const Segment> curves) {
  const auto measure = [&](std::string_view text) {
    return canvas.text_width(text, mark_label_style());
  };
  std::vector<PlacedMark> result;
  std::vector<Callout> callouts;
  for (const SpectrumMark& mark : marks_in_view(marks, panel)) {
    result.push_back({*panel.place(mark.at), elided(mark.label, panel.box.width / 2, measure), {}});
    if (callouts.size() < kMostLabels) {
      callouts.push_back({result.back().at, {measure(result.back().label) + 4, kMarkLabelHeight}});
    }
  }
  const auto places = place_callouts(callouts, panel.box.grown(-3), obstacles, curves);
  for (std::size_t i = 0; i < places.size(); ++i) result[i].place = places[i];
  return result;
}

std::size_t untidiness(std::span<const PlacedMark> marks) {
  const auto on_curve = std::count_if(marks.begin(), marks.end(), [](const PlacedMark& mark) {
    return mark.place && mark.place->on_curve;
  });
  return 1000 * without_label(marks) + static_cast<std::size_t>(on_curve);
}

std::size_t without_label(std::span<const PlacedMark> marks) {
  return static_cast<std::size_t>(std::count_if(
      marks.begin(), marks.end(), [](const PlacedMark& mark) { return !mark.place; }));
}

void draw_marks(Canvas& canvas, std::span<const PlacedMark> marks) {
  for (const PlacedMark& mark : marks) {
    if (mark.place) {
      canvas.line(mark.place->leader.from, mark.place->leader.to, {palette().rule, 0.9});
    }
    canvas.mark(mark.at, Shape::disc, 3.2, palette().ink);
  }
  for (const PlacedMark& mark : marks) {
    if (!mark.place) continue;
    const Point middle = mark.place->box.centre();
    canvas.text({middle.x, middle.y + 0.34 * kTextSize}, mark.label, mark_label_style());
  }
}

}  // namespace howl::picture
