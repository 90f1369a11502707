#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <string>

#include "src/percent_text.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/scale.h"
#include "ui/look/widgets.h"
#include "ui/panels/about_line.h"
#include "ui/panels/band_tools.h"
#include "ui/panels/level_axis.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/about_tone.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

std::string level_words(const RankedPoint& point) {
  return point.level_db ? typeset(level_text(point)) + " dB" : std::string("not compared");
}

/// The chance is of the place, the call of the decibels: each stands beside what it is about.
std::string rank_words(const RankedPoint& point, std::optional<double> lead) {
  if (!point.level_db) return point.warnings.empty() ? "" : as_in_sheet(point.warnings.front());
  if (!point.probability_loudest || !point.below_loudest_db) return "";
  const std::string chance = percent_text(point.probability_loudest);
  if (*point.below_loudest_db > 0)
    return fmt::format("{:.1f} dB below: {} · chance {}", *point.below_loudest_db,
                       call_words(point.call, *point.below_loudest_db), chance);
  if (!lead) return "chance " + chance;
  return fmt::format("chance {} · {:.1f} dB ahead: {}", chance, *lead,
                     call_words(point.call, *lead));
}

/// By how much the loudest leads; none where no other was compared.
std::optional<double> lead_of(const Analysis& analysis) {
  for (std::size_t i = 1; i < analysis.ranking.size(); ++i)
    if (analysis.ranking[i].below_loudest_db) return analysis.ranking[i].below_loudest_db;
  return std::nullopt;
}

/// A class sees how the levels lie before it sees whose they are.
struct BarWords {
  std::string name;
  std::string rest;
};
BarWords words_of(const Frame& frame, const RankedPoint& point, std::size_t place) {
  if (!is_answer_hidden(frame.state))
    return {point.point, rank_words(point, lead_of(*frame.state.analysis()))};
  return {fmt::format("point {}", static_cast<char>('A' + static_cast<char>(place % 26))), ""};
}

/// With room for the levels of a tone that is picked and is not ranked.
Interval shown_levels(const Frame& frame) {
  Interval range = level_range(*frame.state.analysis());
  const ToneResult* const picked = tone_picked_elsewhere(frame.state);
  if (picked == nullptr || is_answer_hidden(frame.state)) return range;
  for (const TrackPoint& sighting : picked->track) {
    range.low = std::max(std::min(range.low, sighting.level_db - 2), range.high - 80);
    range.high = std::max(range.high, sighting.level_db + 2);
  }
  return range;
}

/// A tone that is picked and is not ranked: each sighting of it at the point, as a thin stroke.
void put_picked_levels(Frame& frame, const RankedPoint& point, const Area& bar,
                       const LevelAxis& axis) {
  const ToneResult* const picked = tone_picked_elsewhere(frame.state);
  if (picked == nullptr || is_answer_hidden(frame.state)) return;
  const Analysis& analysis = *frame.state.analysis();
  std::size_t marks = 0;
  for (const TrackPoint& sighting : picked->track) {
    const TakeResult* const take = find_take(analysis, sighting.take);
    if (take == nullptr || take->point != point.point) continue;
    const float x = axis.at(sighting.level_db);
    hairline({x, bar.y - frame.u(2)}, {x, bar.bottom() + frame.u(2)},
             faded(frame.theme().ink, 0.45F), frame.u(1));
    ++marks;
  }
  if (marks > 0) frame.targets.insert_or_assign("words.picked." + point.point, bar);
}

void put_bar(Frame& frame, const RankedPoint& point, const Area& area, const LevelAxis& axis,
             std::size_t place) {
  const bool first = place == 0;
  const BarWords words = words_of(frame, point, place);
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const Touch touched = touch(frame, "rank." + words.name, area);
  const bool lit = is_lit_point(frame, point.point);
  if (lit || touched.over) fill(area, lit ? theme.lit : faded(theme.raised, 0.5F), frame.u(6));
  Area inner = area.inset(frame.u(8), frame.u(6));
  Area head = inner.take_top(line_height(fonts.body));
  if (!point.warnings.empty()) {
    const Area sign = head.take_right(frame.u(17), frame.u(6));
    put_sign({sign.x, sign.y + frame.u(2), sign.w, sign.w}, Sign::warning, theme.warn);
  }
  const std::string level = level_words(point);
  put_line(fonts.strong, head.take_right(text_width(fonts.strong, level) + 1, frame.u(8)),
           theme.ink, level, Side::right);
  put_line(first || lit ? fonts.strong : fonts.body, head, theme.ink, words.name);
  const Area bar = inner.take_top(frame.u(14), frame.u(2));
  put_level_bar(frame, point, bar, axis, first);
  put_picked_levels(frame, point, bar, axis);
  put_paragraph(fonts.note, inner, theme.quiet, words.rest);
  if (touched.pressed && !is_answer_hidden(frame.state)) frame.wish(PickPoint{point.point});
}

void put_level_axis(Frame& frame, const LevelAxis& axis, float y) {
  const picture::Scale scale{axis.range.low, axis.range.high, false,
                             static_cast<double>(axis.room.x),
                             static_cast<double>(axis.room.right())};
  ImFont* const font = frame.look.fonts.note;
  const auto extent = [&](const std::string& label) {
    return static_cast<double>(text_width(font, label));
  };
  for (const auto& tick : picture::axis_ticks(scale, extent, frame.u(24), frame.u(60)))
    if (const auto place = scale.position(tick.value))
      put_text(font, {static_cast<float>(*place), y}, frame.theme().quiet, tick.label,
               Side::centre);
}

/// The same for all: as high as the longest words need, which are cut after two lines.
float row_height(const Frame& frame, const Analysis& analysis, float width) {
  ImFont* const font = frame.look.fonts.note;
  float words = 0;
  for (std::size_t i = 0; i < analysis.ranking.size(); ++i)
    words = std::max(words,
                     paragraph_height(font, width, words_of(frame, analysis.ranking[i], i).rest));
  return line_height(frame.look.fonts.body) + frame.u(14 + 2 + 12) +
         std::min(words, 2 * line_height(font)) + frame.u(1);
}

/// In a low view only what the numbers are of.
std::string legend_of(const Frame& frame, const Analysis& analysis, float room) {
  std::string legend = analysis.level_reference + "; line: 95 % interval";
  constexpr float least = 400;
  if (!is_answer_hidden(frame.state) && room > frame.u(least))
    legend += fmt::format(". Chance: of being the loudest. Difference: {}.", call_legend());
  if (tone_picked_elsewhere(frame.state) != nullptr && !is_answer_hidden(frame.state))
    legend += "; thin strokes: the picked tone";
  return legend;
}

void put_ranking(Frame& frame, const Area& area) {
  const Analysis& analysis = *frame.state.analysis();
  const std::string band = analysis.suspect_band && !is_answer_hidden(frame.state)
                               ? band_words(frame.state)
                               : std::string();
  Area inner = card(frame, area, "Probe points by level", band);
  const bool may_mark = can_mark_band(frame.state);
  Area foot = inner.take_bottom(may_mark ? frame.u(kTouch) : line_height(frame.look.fonts.note),
                                frame.u(4));
  put_band_button(frame, foot);
  if (analysis.ranking.empty())
    return nothing_to_show(frame, inner,
                           "Nothing howls, so there is nothing to rank. Give a band to compare the "
                           "points all the same.");
  const std::string legend = legend_of(frame, analysis, inner.h);
  ImFont* const font = frame.look.fonts.note;
  const bool beside = paragraph_height(font, foot.w, legend) <= foot.h;
  put_paragraph(
      font, beside ? foot : inner.take_bottom(paragraph_height(font, inner.w, legend), frame.u(4)),
      frame.theme().quiet, legend);
  const Area ticks = inner.take_top(line_height(frame.look.fonts.note), frame.u(4));
  const LevelAxis axis{{inner.x + frame.u(8), 0, inner.w - frame.u(28), 0}, shown_levels(frame)};
  put_level_axis(frame, axis, ticks.y);
  scrolled(frame, "ranking", inner, [&](Area& rows) {
    const float height = row_height(frame, analysis, rows.w - frame.u(16));
    for (std::size_t i = 0; i < analysis.ranking.size(); ++i)
      put_bar(frame, analysis.ranking[i], rows.take_top(height, frame.u(3)), axis, i);
  });
}

constexpr float kLowWhere = 330;

void put_where_sketch(Frame& frame, const Area& area, const SketchPicture& sketch,
                      std::string_view remark) {
  put_sketch(frame, card(frame, area, "On the vehicle", remark), sketch);
}

}  // namespace

void draw_where(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  const std::string_view sizes = is_sketched(frame) ? "size and colour: level" : "filled: recorded";
  const SketchPicture& sketch = sketch_to_show(frame);
  put_about_line(frame, rest);
  if (rest.h < frame.u(kLowWhere)) {
    constexpr std::array<std::string_view, 3> names{"By level", "On the vehicle", "In words"};
    const std::size_t shown = put_parts_in_turn(frame, rest, names);
    if (shown == 0) return put_ranking(frame, rest);
    if (shown == 1) return put_where_sketch(frame, rest, sketch, sizes);
    return put_in_words(frame, rest, frame.state.answer->finding.where);
  }
  rest.take_top(put_finding(frame, rest, frame.state.answer->finding.where), frame.u(kGap));
  put_ranking(frame, rest.take_left(rest.w * 0.47F, frame.u(kGap)));
  put_where_sketch(frame, rest, sketch, sizes);
}

void draw_where_unanswered(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  constexpr std::string_view filled = "filled: recorded";
  const SketchPicture& sketch = frame.state.opened->plan;
  if (area.h < frame.u(kLowWhere)) {
    constexpr std::array<std::string_view, 2> names{"By level", "On the vehicle"};
    if (put_parts_in_turn(frame, rest, names) == 0) return put_ranking(frame, rest);
    return put_where_sketch(frame, rest, sketch, filled);
  }
  put_ranking(frame, rest.take_left(rest.w * 0.47F, frame.u(kGap)));
  put_where_sketch(frame, rest, sketch, filled);
}

}  // namespace howl::desk
