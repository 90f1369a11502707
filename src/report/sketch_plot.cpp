#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "src/report/frame.h"
#include "src/report/number_text.h"
#include "src/report/plots.h"
#include "src/report/side_labels.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr std::size_t kMostSpots = 40;
constexpr std::size_t kMostNotes = 6;
constexpr double kLabelWidth = 186;
constexpr double kMostWidth = 372;
constexpr double kMostHeight = 400;
constexpr double kBriefHeight = 250;
constexpr double kBriefTop = 2;
constexpr double kSketchLine = 14.5;
constexpr double kSketchLabelHeight = 2 * kSketchLine;
constexpr double kLabelGap = 7;
constexpr double kViewHeading = 34;
constexpr double kFaintestDb = 20;
constexpr double kOpenRadius = 3.5;
constexpr double kClearance = 3;

/// A point 20 dB or more below the loudest is as small and pale as they get.
double share_of(double below_db) { return 1 - std::clamp(below_db / kFaintestDb, 0.0, 1.0); }
double radius_of(double below_db) { return 4 + 7 * share_of(below_db); }
Colour colour_of(double below_db) { return level_colour(0.25 + 0.75 * share_of(below_db)); }

TextStyle quiet_style() { return {.colour = palette().quiet}; }

bool is_placed(const SketchSpot& spot) {
  return std::isfinite(spot.at.x) && std::isfinite(spot.at.y);
}

std::vector<SketchSpot> shown_spots(const SketchView& view) {
  std::vector<SketchSpot> spots;
  std::ranges::copy_if(view.spots, std::back_inserter(spots), is_placed);
  if (spots.size() > kMostSpots) spots.resize(kMostSpots);
  for (SketchSpot& spot : spots)
    if (spot.below_loudest_db && !std::isfinite(*spot.below_loudest_db))
      spot.below_loudest_db.reset();
  return spots;
}

bool is_labelled(const SketchSpot& spot) { return !spot.words.empty(); }

Point place(const Box& box, const PlotPoint& at) {
  return {box.x + std::clamp(at.x, 0.0, 1.0) * box.width,
          box.y + std::clamp(at.y, 0.0, 1.0) * box.height};
}

/// As large as fits, and tall enough for the labels beside it.
Box sketch_box(const SketchView& view, std::size_t labels, double top, double most_height) {
  const double aspect = std::isfinite(view.aspect) && view.aspect > 0 ? view.aspect : 1;
  const double height = std::min(most_height, kMostWidth / aspect);
  const double rows = std::ceil(static_cast<double>(labels) / 2);
  const double room = std::max(height, rows * (kSketchLabelHeight + kLabelGap));
  const double width = height * aspect;
  return {(kPageSize.width - width) / 2, top + (room - height) / 2, width, height};
}

void draw_shape(Canvas& canvas, const SketchShape& shape, const Box& box) {
  std::vector<Point> corners;
  for (const PlotPoint& corner : shape.corners)
    if (std::isfinite(corner.x) && std::isfinite(corner.y)) corners.push_back(place(box, corner));
  if (corners.size() < 3) return;
  canvas.fill(corners, palette().grid, 0.45);
  corners.push_back(corners.front());
  canvas.line(corners, {palette().rule, 0.9});
}

void draw_disc(Canvas& canvas, const SketchSpot& spot, Point at) {
  if (!spot.below_loudest_db) {
    canvas.mark(at, Shape::disc, kOpenRadius + 1, palette().paper);
    canvas.mark(at, Shape::ring, kOpenRadius, palette().rule);
    return;
  }
  const double radius = radius_of(*spot.below_loudest_db);
  const bool loudest = *spot.below_loudest_db <= 0;
  canvas.mark(at, Shape::disc, radius + (loudest ? 3.2 : 1.8),
              loudest ? palette().band : palette().paper);
  canvas.mark(at, Shape::disc, radius + 0.8, loudest ? palette().paper : palette().rule);
  canvas.mark(at, Shape::disc, radius, colour_of(*spot.below_loudest_db));
}

/// Where a shape's name may stand: inside it, at its lower or upper edge; nowhere if it is wider.
std::vector<Point> name_places(const SketchShape& shape, const Box& box, double width) {
  const auto is_lost = [](const PlotPoint& p) { return !std::isfinite(p.x + p.y); };
  if (std::ranges::any_of(shape.corners, is_lost)) return {};
  const auto by_x = [](const PlotPoint& a, const PlotPoint& b) { return a.x < b.x; };
  const auto by_y = [](const PlotPoint& a, const PlotPoint& b) { return a.y < b.y; };
  const auto [left, right] = std::ranges::minmax_element(shape.corners, by_x);
  const auto [upper, lower] = std::ranges::minmax_element(shape.corners, by_y);
  const Point low = place(box, {(left->x + right->x) / 2, lower->y});
  const Point high = place(box, {(left->x + right->x) / 2, upper->y});
  if (width > (right->x - left->x) * box.width) return {};
  return {{low.x, low.y - 5}, {high.x, high.y + 13}, {low.x, (low.y + high.y) / 2}};
}

/// A name is left out where spots or words stand; of shapes with one name, one is named.
void draw_shape_names(Canvas& canvas, const SketchView& view, const Box& box,
                      std::span<const Box> taken) {
  const TextStyle style{.size = kNoteSize, .colour = palette().quiet, .align = Align::centre};
  std::set<std::string> named;
  for (const SketchShape& shape : view.shapes) {
    if (shape.corners.empty() || shape.label.empty() || named.contains(shape.label)) continue;
    for (const Point& at : name_places(shape, box, canvas.text_width(shape.label, style))) {
      const Box words = canvas.text_box(at, shape.label, style);
      const auto hits = [&](const Box& other) { return other.overlaps(words.grown(1)); };
      if (!box.contains(words) || std::ranges::any_of(taken, hits) ||
          std::ranges::any_of(canvas.texts(), hits))
        continue;
      canvas.text(at, shape.label, style);
      named.insert(shape.label);
      break;
    }
  }
}

void draw_label(Canvas& canvas, const SketchSpot& spot, const SideLabel& label) {
  const bool left = label.side == Side::left;
  const bool loudest = spot.below_loudest_db && *spot.below_loudest_db <= 0;
  const double x = left ? kMargin + kLabelWidth : kPageSize.width - kMargin - kLabelWidth;
  TextStyle style{.bold = loudest, .align = left ? Align::right : Align::left};
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, style); };
  canvas.text({x, label.middle - 2.5}, elided(spot.point, kLabelWidth, measure), style);
  style.colour = loudest ? palette().band : palette().quiet;
  canvas.text({x, label.middle + 11.5}, elided(spot.words, kLabelWidth, measure), style);
}

/// Where the spots of a view stand on the page.
struct Placed {
  std::vector<SketchSpot> spots;
  std::vector<Disc> discs;            ///< of each spot
  std::vector<std::size_t> labelled;  ///< places in `spots` of those with words
};

double radius_of(const SketchSpot& spot) {
  return spot.below_loudest_db ? radius_of(*spot.below_loudest_db) : kOpenRadius;
}

Placed placed_in(const Box& box, std::vector<SketchSpot> spots) {
  Placed placed{std::move(spots), {}, {}};
  for (std::size_t i = 0; i < placed.spots.size(); ++i) {
    const SketchSpot& spot = placed.spots[i];
    placed.discs.push_back({place(box, spot.at), radius_of(spot) + kClearance});
    if (is_labelled(spot)) placed.labelled.push_back(i);
  }
  return placed;
}

/// In a bow around the other spots, so that no line seems to end at a spot that it only passes.
void draw_leader(Canvas& canvas, const SideLabel& label, const Placed& placed, std::size_t spot) {
  const bool left = label.side == Side::left;
  const double x = left ? kMargin + kLabelWidth + 6 : kPageSize.width - kMargin - kLabelWidth - 6;
  std::vector<Disc> others = placed.discs;
  others.erase(others.begin() + static_cast<std::ptrdiff_t>(spot));
  canvas.line(around({{x, label.middle}, placed.discs[spot].centre}, others),
              {palette().rule, 0.8});
}

void draw_view_heading(Canvas& canvas, const SketchView& view, double top) {
  const TextStyle bold{.size = kSubtitleSize, .bold = true};
  canvas.line({kMargin, top}, {kPageSize.width - kMargin, top}, {palette().grid, 0.8});
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, bold); };
  const std::string title = elided(view.title, 300, measure);
  canvas.text({kMargin, top + 20}, title, bold);
  const auto measure_plain = [&](std::string_view t) {
    return canvas.text_width(t, quiet_style());
  };
  canvas.text({kMargin + measure(title) + 12, top + 20}, elided(view.subtitle, 400, measure_plain),
              quiet_style());
}

std::vector<SideLabel> labels_beside(const Placed& placed, double top, double bottom) {
  std::vector<Point> places;
  for (const std::size_t i : placed.labelled) places.push_back(placed.discs[i].centre);
  return side_labels(places, {.left = kMargin + kLabelWidth + 6,
                              .right = kPageSize.width - kMargin - kLabelWidth - 6,
                              .top = top,
                              .bottom = bottom,
                              .height = kSketchLabelHeight + kLabelGap});
}

void draw_spots(Canvas& canvas, const Placed& placed, std::span<const SideLabel> labels) {
  for (std::size_t i = 0; i < labels.size(); ++i)
    draw_leader(canvas, labels[i], placed, placed.labelled[i]);
  for (const bool recorded : {false, true})
    for (std::size_t i = 0; i < placed.spots.size(); ++i)
      if (is_labelled(placed.spots[i]) == recorded)
        draw_disc(canvas, placed.spots[i], placed.discs[i].centre);
  for (std::size_t i = 0; i < labels.size(); ++i)
    draw_label(canvas, placed.spots[placed.labelled[i]], labels[i]);
}

/// Returns the y below it.
double draw_view(Canvas& canvas, const SketchView& view, double top, double most_height) {
  const std::vector<SketchSpot> spots = shown_spots(view);
  const auto labelled = static_cast<std::size_t>(std::ranges::count_if(spots, is_labelled));
  const double inside = top + kViewHeading;
  const Box box = sketch_box(view, labelled, inside, most_height);
  const double rows = std::ceil(static_cast<double>(labelled) / 2);
  const double bottom = std::max(box.bottom(), inside + rows * (kSketchLabelHeight + kLabelGap));
  draw_view_heading(canvas, view, top);
  for (const SketchShape& shape : view.shapes) draw_shape(canvas, shape, box);
  const Placed placed = placed_in(box, spots);
  draw_spots(canvas, placed, labels_beside(placed, inside, bottom));
  std::vector<Box> taken;
  for (const Disc& disc : placed.discs)
    taken.push_back(Box{disc.centre.x, disc.centre.y, 0, 0}.grown(disc.radius));
  draw_shape_names(canvas, view, box, taken);
  return bottom + 14;
}

double draw_legend(Canvas& canvas, double top) {
  const double y = top + 22;
  const double baseline = y + 0.36 * kTextSize;
  double x = kMargin + 14;
  const auto entry = [&](const std::optional<double>& below, const std::string& words) {
    draw_disc(canvas, {{}, {}, {}, below}, {x, y});
    canvas.text({x + 18, baseline}, words, quiet_style());
    x += 18 + canvas.text_width(words, quiet_style()) + 34;
  };
  entry(0.0, "the loudest");
  entry(5.0, "5 dB below it");
  entry(10.0, "10 dB");
  entry(kFaintestDb, "20 dB or more");
  entry(std::nullopt, "not recorded, or not comparable");
  return top + 46;
}

double draw_notes(Canvas& canvas, const std::vector<std::string>& notes, double y) {
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, {}); };
  for (std::size_t i = 0; i < std::min(kMostNotes, notes.size()); ++i) {
    for (const auto& line : wrapped(notes[i], kPageSize.width - 2 * kMargin, 6, measure)) {
      canvas.text({kMargin, y + 14}, line, {});
      y += 16;
    }
    y += 5;
  }
  return y;
}

bool has_spots(const SketchView& view) { return std::ranges::any_of(view.spots, is_placed); }

/// Returns the y below all of it.
double draw_all(Canvas& canvas, const SketchPicture& picture) {
  double y = kBriefTop;
  if (!picture.brief)
    y = draw_legend(canvas, draw_heading(canvas, picture.title, picture.subtitle));
  for (const SketchView& view : picture.views)
    if (has_spots(view)) y = draw_view(canvas, view, y, picture.brief ? kBriefHeight : kMostHeight);
  return draw_notes(canvas, picture.notes, y);
}

bool has_content(const SketchPicture& picture) {
  return std::ranges::any_of(picture.views, has_spots) || !picture.notes.empty();
}

}  // namespace

Size page_size(const SketchPicture& picture) {
  if (!has_content(picture)) return {kPageSize.width, 240};
  Canvas ruler(PictureFormat::png, {kPageSize.width, 1}, {});
  return {kPageSize.width, std::ceil(std::max(240.0, draw_all(ruler, picture) + 14))};
}

void draw_on(Canvas& canvas, const SketchPicture& picture) {
  if (has_content(picture)) {
    draw_all(canvas, picture);
    return;
  }
  draw_nothing_to_show(canvas, draw_heading(canvas, picture.title, picture.subtitle),
                       "no probe point has a place on the sketch or a level");
}

}  // namespace howl::picture
