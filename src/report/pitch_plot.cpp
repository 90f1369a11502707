#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <optional>

#include "src/report/curve.h"
#include "src/report/frame.h"
#include "src/report/plots.h"
#include "src/report/spread.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr double kKeyWidth = 216;
constexpr double kKeyGap = 22;
constexpr double kTextLeft = 20;  ///< of the key's words, from its left side
constexpr double kLawSwatch = 34;
constexpr double kBlockGap = 10;
constexpr double kSigmasOf95Percent = 1.959964;  ///< standard normal, two-sided
constexpr double kLeastWeight = 0.005;           ///< a lighter law is not drawn

using Law = PitchSeries::Law;

/// Of the laws worth drawing, the heaviest first.
std::vector<const Law*> laws_by_weight(const PitchSeries& series) {
  std::vector<const Law*> laws;
  for (const Law& law : series.laws) {
    if (law.weight >= kLeastWeight) laws.push_back(&law);
  }
  std::stable_sort(laws.begin(), laws.end(),
                   [](const Law* a, const Law* b) { return a->weight > b->weight; });
  return laws;
}

double strength(const Law& law) { return std::clamp(law.weight, 0.0, 1.0); }

Pen pen_of(const Law& law, const SeriesStyle& style) {
  const double w = strength(law);
  return {style.colour, 1 + 1.4 * w, law_dash(law.law), 0.35 + 0.65 * w};
}

std::span<const PitchSeries> shown_series(const PitchPicture& picture) {
  return std::span(picture.series).first(std::min(picture.series.size(), kMaxSeries));
}

bool anything_in_view(const PitchPicture& picture, const Panel& panel) {
  const auto point_in_view = [&](const PitchSeries::Point& point) {
    const auto at = panel.place({point.rpm, point.frequency_hz});
    return at && panel.box.contains(*at);
  };
  const auto series_in_view = [&](const PitchSeries& series) {
    return std::any_of(series.points.begin(), series.points.end(), point_in_view) ||
           std::any_of(series.laws.begin(), series.laws.end(),
                       [&](const Law& law) { return !visible_pieces(law.curve, panel).empty(); });
  };
  return std::any_of(picture.series.begin(), picture.series.end(), series_in_view);
}

void draw_laws(Canvas& canvas, const PitchSeries& series, const SeriesStyle& style,
               const Panel& panel) {
  const std::vector<const Law*> laws = laws_by_weight(series);
  for (auto law = laws.rbegin(); law != laws.rend(); ++law) {
    const std::vector<Point> band = outline_between((*law)->upper, (*law)->lower, panel);
    if (band.size() > 2) canvas.fill(band, style.colour, 0.05 + 0.13 * strength(**law));
    for (const auto& piece : visible_pieces((*law)->curve, panel)) {
      canvas.line(piece, pen_of(**law, style));
    }
  }
}

void draw_error_bar(Canvas& canvas, Point at, double half_height, Colour colour) {
  constexpr double cap = 4;
  for (const double end : {at.y - half_height, at.y + half_height}) {
    canvas.line({at.x, at.y}, {at.x, end}, {colour, 1.2});
    canvas.line({at.x - cap, end}, {at.x + cap, end}, {colour, 1.2});
  }
}

void draw_points(Canvas& canvas, const PitchSeries& series, const SeriesStyle& style,
                 const Panel& panel) {
  constexpr double radius = 4.2;
  for (const PitchSeries::Point& point : series.points) {
    const auto at = panel.place({point.rpm, point.frequency_hz});
    if (!at || !panel.box.contains(*at)) continue;
    const auto end =
        panel.y.position(point.frequency_hz + kSigmasOf95Percent * std::abs(point.sigma_hz));
    const double half_height = end ? std::min(at->y - *end, panel.box.height) : 0;
    if (half_height > radius) draw_error_bar(canvas, *at, half_height, style.colour);
    canvas.mark(*at, style.shape, radius, style.colour);
  }
}

/// What the key says about one series.
struct Entry {
  std::vector<std::string> name;
  std::vector<const Law*> laws;
  double wanted{};

  double height() const { return kLineHeight * static_cast<double>(name.size() + laws.size()); }
};

/// Where the series is at the right side of the plot.
double right_end(const PitchSeries& series, const Panel& panel) {
  for (const Law* law : laws_by_weight(series)) {
    const auto pieces = visible_pieces(law->curve, panel);
    if (!pieces.empty()) return pieces.back().back().y;
  }
  double y = panel.box.centre().y;
  double rightmost = panel.box.x;
  for (const PitchSeries::Point& point : series.points) {
    const auto at = panel.place({point.rpm, point.frequency_hz});
    if (!at || !panel.box.contains(*at) || at->x < rightmost) continue;
    rightmost = at->x;
    y = at->y;
  }
  return y;
}

std::vector<Entry> entries_of(const Canvas& canvas, const PitchPicture& picture, const Panel& panel,
                              std::size_t name_lines, std::size_t most_laws) {
  const auto measure = [&](std::string_view text) {
    return canvas.text_width(text, {.bold = true});
  };
  std::vector<Entry> entries;
  for (const PitchSeries& series : shown_series(picture)) {
    Entry entry{wrapped(series.label, kKeyWidth - kTextLeft, name_lines, measure),
                laws_by_weight(series), right_end(series, panel)};
    if (entry.laws.size() > most_laws) entry.laws.resize(most_laws);
    entries.push_back(std::move(entry));
  }
  return entries;
}

bool fits(const std::vector<Entry>& entries, double room) {
  double height = 0;
  for (const Entry& entry : entries) height += entry.height() + kBlockGap;
  return height - kBlockGap <= room;
}

/// As much detail as there is room for: laws go first, then lines of the names.
std::vector<Entry> fitting_entries(const Canvas& canvas, const PitchPicture& picture,
                                   const Panel& panel) {
  std::vector<Entry> entries;
  for (const std::size_t name_lines : {3U, 2U, 1U}) {
    for (std::size_t laws = 6; laws >= 1; --laws) {
      entries = entries_of(canvas, picture, panel, name_lines, laws);
      if (fits(entries, panel.box.height)) return entries;
    }
  }
  return entries;
}

void draw_entry(Canvas& canvas, const Entry& entry, const SeriesStyle& style, Point top_left) {
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, {}); };
  canvas.mark({top_left.x + 6, top_left.y + 7}, style.shape, 4.2, style.colour);
  double baseline = top_left.y + 0.75 * kLineHeight;
  for (const std::string& line : entry.name) {
    canvas.text({top_left.x + kTextLeft, baseline}, line, {.bold = true});
    baseline += kLineHeight;
  }
  for (const Law* law : entry.laws) {
    const double x = top_left.x + kTextLeft;
    const double y = baseline - 0.3 * kLineHeight;
    canvas.line({x, y}, {x + kLawSwatch, y}, pen_of(*law, style));
    canvas.text({x + kLawSwatch + 7, baseline},
                elided(law->label, kKeyWidth - kTextLeft - kLawSwatch - 7, measure), {});
    baseline += kLineHeight;
  }
}

void draw_key(Canvas& canvas, const std::vector<Entry>& entries, const Panel& panel) {
  std::vector<SpreadLabel> labels;
  labels.reserve(entries.size());
  for (const Entry& entry : entries) labels.push_back({entry.wanted, entry.height()});
  const Box& box = panel.box;
  const auto centres = spread(labels, {box.y, box.bottom(), kBlockGap, box.height});
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (!centres[i]) continue;
    const Point top_left{box.right() + kKeyGap, *centres[i] - labels[i].length / 2};
    canvas.line({box.right() + 2, entries[i].wanted}, {top_left.x - 2, top_left.y + 7},
                {series_style(i).colour, 0.9});
    draw_entry(canvas, entries[i], series_style(i), top_left);
  }
}

std::string note_of(std::size_t hidden) {
  std::string note = "Bars and shaded bands: 95 %. The heavier a law, the stronger its line.";
  if (hidden > 0) note += fmt::format(" Tones not shown: {}.", hidden);
  return note;
}

}  // namespace

Size page_size(const PitchPicture&) { return kPageSize; }

void draw_on(Canvas& canvas, const PitchPicture& picture) {
  const double heading = draw_heading(canvas, picture.title, picture.subtitle);
  for (const PlotAxis& axis : {picture.rpm, picture.frequency}) {
    if (const auto why = axis_fault(axis)) return draw_nothing_to_show(canvas, heading, *why);
  }
  const double top = std::round(heading + 34);
  const Box box{kPlotLeft, top, canvas.size().width - kMargin - kKeyWidth - kKeyGap - kPlotLeft,
                canvas.size().height - kFootRoom - top};
  const Panel panel = panel_of(box, picture.rpm, picture.frequency);
  if (!anything_in_view(picture, panel)) {
    return draw_nothing_to_show(canvas, heading, "no tone has a point within the axes");
  }

  draw_x_ticks(canvas, panel, Grid::lines);
  draw_y_ticks(canvas, panel, Grid::lines);
  canvas.inside(box, [&] {
    for (std::size_t i = 0; i < shown_series(picture).size(); ++i) {
      draw_laws(canvas, picture.series[i], series_style(i), panel);
    }
  });
  for (std::size_t i = 0; i < shown_series(picture).size(); ++i) {
    draw_points(canvas, picture.series[i], series_style(i), panel);
  }
  draw_axis_lines(canvas, panel);
  draw_key(canvas, fitting_entries(canvas, picture, panel), panel);
  draw_x_title(canvas, panel, picture.rpm);
  draw_y_title(canvas, panel, picture.frequency, box.width);
  draw_note(canvas, note_of(picture.series.size() - shown_series(picture).size()));
}

}  // namespace howl::picture
