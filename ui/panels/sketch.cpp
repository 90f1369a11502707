#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "src/report/geometry.h"
#include "src/report/side_labels.h"
#include "ui/look/widgets.h"
#include "ui/panels/level_axis.h"
#include "ui/panels/parts.h"
#include "ui/panels/sketch_dots.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr double kFaintestDb = 20;

/// A point 20 dB or more below the loudest is as small and pale as they get, as in the report.
float spot_share(double below_db) {
  return static_cast<float>(1 - std::clamp(below_db / kFaintestDb, 0.0, 1.0));
}

Area fitted(const Area& room, double aspect) {
  const auto ratio = static_cast<float>(aspect > 0 ? aspect : 1);
  const float height = std::min(room.h, room.w / ratio);
  const float width = height * ratio;
  return {room.x + (room.w - width) / 2, room.y + (room.h - height) / 2, width, height};
}

ImVec2 place_in(const Area& box, const PlotPoint& at) {
  return {box.x + static_cast<float>(std::clamp(at.x, 0.0, 1.0)) * box.w,
          box.y + static_cast<float>(std::clamp(at.y, 0.0, 1.0)) * box.h};
}

void put_shapes(Frame& frame, const SketchView& view, const Area& box) {
  ImDrawList& list = *ImGui::GetWindowDrawList();
  for (const SketchShape& shape : view.shapes) {
    std::vector<ImVec2> corners;
    for (const PlotPoint& corner : shape.corners) corners.push_back(place_in(box, corner));
    if (corners.size() < 3) continue;
    const int count = static_cast<int>(corners.size());
    list.AddConvexPolyFilled(corners.data(), count, faded(frame.theme().grid, 0.55F));
    list.AddPolyline(corners.data(), count, frame.theme().rule, ImDrawFlags_Closed, frame.u(1.1F));
  }
}

float spot_radius(const Frame& frame, const SketchSpot& spot, float scale) {
  const float units = spot.below_loudest_db ? 5 + 8 * spot_share(*spot.below_loudest_db) : 4.5F;
  return frame.u(units) * scale;
}

ImU32 spot_colour(const Frame& frame, double below_db) {
  const float share = 0.3F + 0.7F * spot_share(below_db);
  return frame.theme().levels.at(static_cast<std::size_t>(255 * share));
}

void put_spot(Frame& frame, const SketchSpot& spot, ImVec2 at, float scale) {
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const Theme& theme = frame.theme();
  const float radius = spot_radius(frame, spot, scale);
  if (!spot.below_loudest_db) {
    list.AddCircleFilled(at, radius, theme.card);
    list.AddCircle(at, radius, theme.quiet, 0, frame.u(1.4F));
  } else {
    list.AddCircleFilled(at, radius + frame.u(2) * scale, theme.card);
    list.AddCircleFilled(at, radius, spot_colour(frame, *spot.below_loudest_db));
    list.AddCircle(at, radius, theme.rule, 0, frame.u(1));
    if (*spot.below_loudest_db <= 0)
      list.AddCircle(at, radius + frame.u(3.5F) * scale, theme.accent, 0, frame.u(1.6F) * scale);
  }
  if (is_lit_point(frame, spot.point))
    list.AddCircle(at, radius + frame.u(7) * scale, theme.accent, 0, frame.u(2.4F) * scale);
}

/// How often a point was recorded would tell a class where to look.
std::string words_of(const Frame& frame, const SketchSpot& spot) {
  return is_answer_hidden(frame.state) && spot.below_loudest_db ? "recorded" : spot.words;
}

/// Without its last part, which the ranking tells too, where the whole has no room.
std::string words_with_room(ImFont* font, std::string words, float room) {
  const auto comma = words.rfind(", ");
  if (text_width(font, words) > room && comma != std::string::npos) words.resize(comma);
  return words;
}

/// How names are set: with what there is to say of each, or smaller where they are many.
struct LabelLook {
  bool in_full{};
  bool small{};
  bool bars{};
  float height{};
};

constexpr float kBar = 10;
constexpr float kBarGap = 3;

LabelLook label_look(const Frame& frame, std::size_t count, float room, bool levels) {
  const Fonts& fonts = frame.look.fonts;
  const auto names = static_cast<float>(count);
  if (levels) {
    const float bar = frame.u(kBar + 2 * kBarGap);
    const float all = line_height(fonts.body) + line_height(fonts.note) + bar + frame.u(8);
    const float brief = line_height(fonts.body) + bar + frame.u(4);
    if (names * all <= room) return {true, false, true, all};
    if (names * brief <= room) return {false, false, true, brief};
  }
  const float full = line_height(fonts.body) + line_height(fonts.note) + frame.u(6);
  if (names * full <= room) return {true, false, false, full};
  if (names * line_height(fonts.body) <= room)
    return {false, false, false, line_height(fonts.body)};
  return {false, true, false, line_height(fonts.note)};
}

const RankedPoint* ranked_point(const Frame& frame, const std::string& name) {
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr) return nullptr;
  const auto found = std::ranges::find(analysis->ranking, name, &RankedPoint::point);
  return found == analysis->ranking.end() ? nullptr : &*found;
}

/// Whether the sketch shows levels, and not only what was recorded.
bool shows_levels(const Frame& frame, const SketchPicture& sketch) {
  return frame.state.answer && &sketch == &frame.state.answer->sketch &&
         !is_answer_hidden(frame.state);
}

constexpr float kWidestBar = 190;

/// The level with its 95 % interval, as in the ranking and on one scale for all points.
void put_spot_bar(Frame& frame, const SketchSpot& spot, Area bar) {
  const RankedPoint* const point = ranked_point(frame, spot.point);
  if (point == nullptr || !point->level_db) return;
  bar.w = std::min(bar.w, frame.u(kWidestBar));
  const LevelAxis axis{bar, level_range(*frame.state.analysis())};
  put_level_bar(frame, *point, bar, axis, spot.below_loudest_db && *spot.below_loudest_db <= 0);
  Area told{bar.x, bar.y, axis.at(*point->level_db) - bar.x, bar.h};
  frame.targets.insert_or_assign("words.bar." + spot.point, told);
  if (!point->ci95_db) return;
  told.x = axis.at(point->ci95_db->low);
  told.w = axis.at(point->ci95_db->high) - told.x;
  frame.targets.insert_or_assign("words.interval." + spot.point, told);
}

void put_label(Frame& frame, const SketchSpot& spot, const Area& column, float middle, ImVec2 at,
               const LabelLook& look) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const float name = line_height(look.small ? fonts.note : fonts.body);
  const float words = look.in_full ? line_height(fonts.note) : 0;
  const float bar = look.bars ? frame.u(kBar + 2 * kBarGap) : 0;
  const float height = name + words + bar;
  Area area{column.x, middle - height / 2, column.w, height};
  const Touch touched = touch(frame, "spot." + spot.point, area);
  const bool lit = is_lit_point(frame, spot.point);
  hairline({column.x - frame.u(6), middle}, at, lit || touched.over ? theme.accent : theme.rule,
           frame.u(lit ? 1.6F : 1));
  ImFont* const lit_font = look.small ? fonts.label : fonts.strong;
  put_line(lit          ? lit_font
           : look.small ? fonts.note
                        : fonts.body,
           area.take_top(name), lit || touched.over ? theme.accent : theme.ink, spot.point);
  if (look.bars) {
    area.take_top(frame.u(kBarGap));
    put_spot_bar(frame, spot, area.take_top(frame.u(kBar), frame.u(kBarGap)));
  }
  if (look.in_full)
    put_line(fonts.note, area, theme.quiet,
             words_with_room(fonts.note, words_of(frame, spot), area.w));
  if (touched.pressed) frame.wish(PickPoint{spot.point});
}

using Spots = std::vector<const SketchSpot*>;

Spots named_spots(const SketchView& view) {
  Spots named;
  for (const SketchSpot& spot : view.spots)
    if (!spot.words.empty()) named.push_back(&spot);
  return named;
}

/// Above the column there is room for the ring of a spot, which names may use when they are many.
constexpr float kRingRoom = 16;

/// One below the other at the right, so that no line crosses another. Where not all have room, the
/// picked one and those with a level go first.
void put_labels(Frame& frame, const SketchView& view, std::span<const ImVec2> dots, Area column,
                bool levels) {
  Spots named = named_spots(view);
  const LabelLook look = label_look(frame, named.size(), column.h, levels);
  if (look.small) {
    column.y -= frame.u(kRingRoom - 2);
    column.h += frame.u(kRingRoom - 2);
    // Not the one of std::ranges: with libstdc++ 12, clang cannot read what it returns.
    std::stable_partition(named.begin(), named.end(), [&](const SketchSpot* spot) {
      return spot->below_loudest_db || is_lit_point(frame, spot->point);
    });
    const auto fit = static_cast<std::size_t>(std::max(0.0F, column.h / look.height));
    if (fit < named.size()) named.resize(fit);
  }
  std::vector<picture::Point> places;
  for (const SketchSpot* const spot : named) {
    const ImVec2 at = dots[static_cast<std::size_t>(spot - view.spots.data())];
    places.push_back({static_cast<double>(at.x), static_cast<double>(at.y)});
  }
  constexpr double nowhere = -1e6;  // no point is nearer to the left column
  const auto labels = picture::side_labels(places, {.left = nowhere,
                                                    .right = static_cast<double>(column.x),
                                                    .top = static_cast<double>(column.y),
                                                    .bottom = static_cast<double>(column.bottom()),
                                                    .height = static_cast<double>(look.height)});
  for (std::size_t i = 0; i < labels.size(); ++i)
    put_label(frame, *named[i], column, static_cast<float>(labels[i].middle),
              {static_cast<float>(places[i].x), static_cast<float>(places[i].y)}, look);
}

/// So that no name is cut off, as far as the sketch can do with less.
float label_width(const Frame& frame, const Spots& named, float room) {
  float widest = std::min(frame.u(200), room * 0.46F);
  for (const SketchSpot* const spot : named)
    widest = std::max(widest, text_width(frame.look.fonts.strong, spot->point));
  return std::min(widest, room * 0.7F);
}

float heading_height(const Frame& frame, const SketchView& view, float width) {
  const Fonts& fonts = frame.look.fonts;
  return line_height(fonts.note) + paragraph_height(fonts.note, width, view.subtitle);
}

/// What the bars beside the names are.
std::string bars_words(const Frame& frame) {
  const Interval range = level_range(*frame.state.analysis());
  return typeset(fmt::format("bars: {:.0f} … {:.0f} dB, line: 95 %", range.low, range.high));
}

/// Which side is which matters, so it is never cut off. Returns the height used.
float put_view_heading(Frame& frame, const SketchView& view, Area area, bool levels) {
  const Fonts& fonts = frame.look.fonts;
  const float top = area.y;
  const Area title = area.take_top(line_height(fonts.note));
  put_line(fonts.label, title, frame.theme().ink, view.title);
  const std::string bars = levels ? bars_words(frame) : std::string();
  if (text_width(fonts.label, view.title) + text_width(fonts.note, bars) + frame.u(16) < title.w)
    put_line(fonts.note, title, frame.theme().quiet, bars, Side::right);
  area.take_top(put_paragraph(fonts.note, area, frame.theme().quiet, view.subtitle));
  return area.y - top;
}

/// A small sketch has smaller dots.
float dot_scale(const Frame& frame, const Area& box) {
  constexpr float whole = 240;
  constexpr float least = 0.5F;
  return std::clamp(std::sqrt(box.w * box.h) / frame.u(whole), least, 1.0F);
}

std::vector<ImVec2> dot_places(const Frame& frame, const SketchView& view, const Area& box,
                               float scale) {
  std::vector<SketchDot> dots;
  for (const SketchSpot& spot : view.spots)
    dots.push_back({place_in(box, spot.at), spot_radius(frame, spot, scale)});
  return dots_apart(dots, box);
}

void put_dots(Frame& frame, const SketchView& view, std::span<const ImVec2> places, float scale) {
  for (std::size_t i = 0; i < places.size(); ++i) put_spot(frame, view.spots[i], places[i], scale);
}

void put_view(Frame& frame, const SketchView& view, const Area& area, bool levels,
              const std::string& elsewhere) {
  Area rest = area;
  rest.take_top(put_view_heading(frame, view, rest, levels), frame.u(kRingRoom));
  if (!elsewhere.empty()) {
    ImFont* const font = frame.look.fonts.note;
    const Area foot = rest.take_bottom(paragraph_height(font, rest.w, elsewhere), frame.u(8));
    put_paragraph(font, foot, frame.theme().quiet, elsewhere);
    frame.targets.insert_or_assign("words.elsewhere", foot);
  }
  const Spots named = named_spots(view);
  const float widest = rest.w - label_width(frame, named, rest.w) - frame.u(26);
  Area box = fitted({rest.x, rest.y, widest, rest.h}, view.aspect);
  const float spare = rest.w - frame.u(226) - box.w;
  box.x = rest.x + std::max(0.0F, std::min(spare / 2, rest.w * 0.12F));
  const float from = box.right() + frame.u(26);
  const float scale = dot_scale(frame, box);
  const std::vector<ImVec2> places = dot_places(frame, view, box, scale);
  put_shapes(frame, view, box);
  put_labels(frame, view, places, {from, rest.y, rest.right() - from, rest.h}, levels);
  put_dots(frame, view, places, scale);
}

bool holds_point(const SketchView& view, const std::optional<std::string>& point) {
  return point && std::ranges::any_of(view.spots, [&](const SketchSpot& spot) {
           return spot.point == *point && !spot.words.empty();
         });
}

/// The one that was chosen, or that holds the picked point, or else the first with levels.
std::size_t main_view(const Frame& frame, std::span<const SketchView* const> views) {
  const ViewState& view = frame.state.view;
  if (view.sketch_view && *view.sketch_view < views.size()) return *view.sketch_view;
  for (std::size_t i = 0; i < views.size(); ++i)
    if (holds_point(*views[i], view.selection.point)) return i;
  for (std::size_t i = 0; i < views.size(); ++i)
    for (const SketchSpot& spot : views[i]->spots)
      if (spot.below_loudest_db && *spot.below_loudest_db <= 0) return i;
  return 0;
}

void put_thumbnail(Frame& frame, const SketchView& view, const Area& area, std::size_t index,
                   bool chosen) {
  const Touch touched = touch(frame, "sketch." + std::to_string(index), area);
  fill(area, chosen ? frame.theme().lit : faded(frame.theme().raised, touched.over ? 0.7F : 0.3F),
       frame.u(7));
  Area inner = area.inset(frame.u(8));
  Area words = inner.take_bottom(line_height(frame.look.fonts.note));
  words = {area.x, words.y, area.w, words.h};
  put_line(frame.look.fonts.note, words, frame.theme().quiet,
           view.title.substr(view.title.rfind(' ') + 1), Side::centre);
  const Area box = fitted(inner, view.aspect);
  put_shapes(frame, view, box);
  constexpr float small = 0.4F;
  put_dots(frame, view, dot_places(frame, view, box, small), small);
  if (touched.pressed) frame.wish(ShowSketch{index});
}

/// Room for the other views: at the right, or below where that would leave names no room.
Area cut_strip(const Frame& frame, const SketchView& view, Area& rest) {
  const bool wide = rest.w > frame.u(500) || rest.w > 1.6F * rest.h;
  if (wide) return rest.take_right(frame.u(96), frame.u(12));
  constexpr float below = 104;
  constexpr float gap = 10;
  const float left =
      rest.h - heading_height(frame, view, rest.w) - frame.u(kRingRoom + below + gap);
  constexpr float least = 170;  // a lower sketch says little
  const auto count = static_cast<float>(named_spots(view).size());
  if (left < std::max(frame.u(least), count * line_height(frame.look.fonts.body)))
    return rest.take_right(frame.u(58), frame.u(gap));
  return rest.take_bottom(frame.u(below), frame.u(gap));
}

void put_thumbnails(Frame& frame, std::span<const SketchView* const> views, std::size_t chosen,
                    Area strip) {
  const bool down = strip.h > strip.w;
  const auto count = static_cast<float>(views.size());
  const float gap = frame.u(8);
  const float side =
      std::min(frame.u(down ? 142 : 170), ((down ? strip.h : strip.w) - gap * (count - 1)) / count);
  for (std::size_t i = 0; i < views.size(); ++i)
    put_thumbnail(frame, *views[i], down ? strip.take_top(side, gap) : strip.take_left(side, gap),
                  i, i == chosen);
}

/// Whether a point has a level that can be compared.
bool is_told(const SketchSpot& spot) { return spot.below_loudest_db && !spot.words.empty(); }

std::string quoted_side(const std::string& title) {
  std::string side = title;
  if (!side.empty()) side[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(side[0])));
  return side;
}

/// Ranked points that the chosen side does not show.
std::string elsewhere_words(const Frame& frame, std::span<const SketchView* const> views,
                            std::size_t chosen) {
  std::vector<std::string> sides;
  std::set<std::string> placed;
  for (std::size_t i = 0; i < views.size(); ++i) {
    std::vector<std::string> names;
    for (const SketchSpot& spot : views[i]->spots) {
      placed.insert(spot.point);
      if (i != chosen && is_told(spot)) names.push_back(spot.point);
    }
    if (!names.empty())
      sides.push_back(fmt::format("{} ({})", fmt::join(names, ", "), quoted_side(views[i]->title)));
  }
  std::vector<std::string> homeless;
  for (const RankedPoint& point : frame.state.analysis()->ranking)
    if (point.level_db && !placed.contains(point.point)) homeless.push_back(point.point);
  if (!homeless.empty())
    sides.push_back(fmt::format("{} (not on the sketch)", fmt::join(homeless, ", ")));
  return sides.empty() ? std::string() : fmt::format("Also: {}", fmt::join(sides, "; "));
}

}  // namespace

bool is_sketched(const Frame& frame) {
  return frame.state.answer &&
         std::ranges::any_of(frame.state.answer->sketch.views,
                             [](const SketchView& view) { return !view.spots.empty(); });
}

const SketchPicture& sketch_to_show(const Frame& frame) {
  return is_sketched(frame) ? frame.state.answer->sketch : frame.state.opened->plan;
}

void put_sketch(Frame& frame, const Area& area, const SketchPicture& sketch) {
  std::vector<const SketchView*> views;
  for (const SketchView& view : sketch.views)
    if (!view.spots.empty()) views.push_back(&view);
  if (views.empty())
    return nothing_to_show(frame, area, "No probe point of this case has a place on the sketch.");
  const std::size_t chosen = main_view(frame, views);
  Area rest = area;
  if (views.size() > 1)
    put_thumbnails(frame, views, chosen, cut_strip(frame, *views[chosen], rest));
  const bool levels = shows_levels(frame, sketch);
  put_view(frame, *views[chosen], rest, levels,
           levels ? elsewhere_words(frame, views, chosen) : std::string());
}

}  // namespace howl::desk
