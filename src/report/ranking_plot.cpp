#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <optional>

#include "src/percent_text.h"
#include "src/report/frame.h"
#include "src/report/number_text.h"
#include "src/report/plots.h"
#include "src/report/scale.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr std::size_t kMostRows = 60;
constexpr double kNameRight = 205;
constexpr double kNameLine = 14.5;
constexpr double kLevelsLeft = kNameRight + 30;
constexpr double kLevelsRight = 510;
constexpr double kLevelRight = 594;
constexpr double kCallLeft = 616;
constexpr double kCallRight = 718;
constexpr double kHeaderRoom = 46;
constexpr double kRankingAxisRoom = 64;
constexpr double kNoteLine = 15;
constexpr double kWhiskerCap = 6;

std::span<const RankingBar> shown_bars(const RankingPicture& picture) {
  return std::span(picture.bars).first(std::min(picture.bars.size(), kMostRows));
}

/// Roomy for a few points, close for many.
double row_height(std::size_t rows) { return rows <= 8 ? 36 : rows <= 16 ? 28 : 23; }

std::optional<Interval> interval_of(const RankingBar& bar) {
  if (!bar.ci95_db || std::isnan(bar.ci95_db->low) || std::isnan(bar.ci95_db->high)) {
    return std::nullopt;
  }
  return bar.ci95_db;
}

/// All finite levels and ends of intervals, opened to round numbers, at least 6 dB.
std::optional<Interval> level_range(std::span<const RankingBar> bars) {
  std::vector<double> values;
  const auto add = [&](double v) {
    if (std::abs(v) < 1e6) values.push_back(v);
  };
  for (const RankingBar& bar : bars) {
    add(bar.level_db);
    if (const auto interval = interval_of(bar)) {
      add(interval->low);
      add(interval->high);
    }
  }
  if (values.empty()) return std::nullopt;
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  const double open = std::max(0.06 * (*high - *low), (6 - (*high - *low)) / 2);
  const double step = nice_step((*high - *low + 2 * open) / 10);
  return Interval{std::floor((*low - open) / step) * step, std::ceil((*high + open) / step) * step};
}

std::string level_text(const RankingBar& bar) {
  if (!std::isfinite(bar.level_db)) return "unknown";
  return (bar.upper_bound ? "≤\u00A0" : "") + format_number(bar.level_db, 1) + "\u00A0dB";
}

/// Where a point has no level, nothing is known of its rank either.
std::string probability_text(const RankingBar& bar) {
  const double probability = bar.probability_loudest;
  const bool known =
      std::isfinite(bar.level_db) && !bar.upper_bound && probability >= 0 && probability <= 1;
  return known ? percent_text(probability) : "unknown";
}

struct Notes {
  std::vector<std::string> lines;
  std::vector<std::string> reference;  ///< "1)" for each bar; empty without warnings
};

std::string joined(const std::vector<std::string>& warnings) {
  std::string text;
  for (const std::string& warning : warnings) text += (text.empty() ? "" : "; ") + warning;
  return text;
}

TextStyle note_style() { return {.size = kNoteSize, .colour = palette().quiet}; }

Notes notes_of(const Canvas& canvas, const RankingPicture& picture) {
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, note_style()); };
  Notes notes;
  const auto add = [&](const std::string& text) {
    const auto lines = wrapped(text, kPageSize.width - 2 * kMargin, 3, measure);
    notes.lines.insert(notes.lines.end(), lines.begin(), lines.end());
  };
  std::size_t number = 0;
  for (const RankingBar& bar : shown_bars(picture)) {
    notes.reference.push_back(bar.warnings.empty() ? "" : fmt::format("{})", ++number));
    if (!bar.warnings.empty()) {
      add(fmt::format("{} {}: {}", notes.reference.back(), bar.point, joined(bar.warnings)));
    }
  }
  if (picture.bars.size() > kMostRows) {
    add(fmt::format("Points not shown: {}.", picture.bars.size() - kMostRows));
  }
  return notes;
}

/// On two lines where the row is tall enough, with the reference behind it.
void draw_name(Canvas& canvas, const RankingBar& bar, const std::string& reference, double middle,
               double height, bool first) {
  const TextStyle style{.bold = first, .align = Align::right};
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, style); };
  const auto lines =
      wrapped(bar.point, kNameRight - kMargin, height > 2 * kNameLine ? 2 : 1, measure);
  double y = middle + 0.36 * kTextSize - kNameLine * (static_cast<double>(lines.size()) - 1) / 2;
  for (const std::string& line : lines) {
    canvas.text({kNameRight, y}, line, style);
    y += kNameLine;
  }
  canvas.text({kNameRight + 5, middle + 0.36 * kTextSize}, reference,
              {.size = kNoteSize, .colour = palette().band});
}

void draw_whisker(Canvas& canvas, const Interval& interval, const Panel& panel, double y,
                  const Pen& pen) {
  const auto end_at = [&](double level, double beyond) {
    const auto x = panel.x.position(level);
    return x ? *x : beyond;
  };
  const double left = end_at(interval.low, panel.box.x - 1);
  const double right = end_at(interval.high, panel.box.right() + 1);
  canvas.line({std::max(left, panel.box.x), y}, {std::min(right, panel.box.right()), y}, pen);
  for (const double end : {left, right}) {
    if (end < panel.box.x || end > panel.box.right()) continue;
    canvas.line({end, y - kWhiskerCap}, {end, y + kWhiskerCap}, pen);
  }
}

void draw_level(Canvas& canvas, const RankingBar& bar, const Panel& panel, double y, bool first) {
  const Colour colour = first ? palette().band : series_style(0).colour;
  if (const auto interval = interval_of(bar)) {
    draw_whisker(canvas, *interval, panel, y, {colour, first ? 2.2 : 1.6});
  }
  if (bar.upper_bound) return;  // the level itself is not known
  const auto x = panel.x.position(bar.level_db);
  if (!x || *x < panel.box.x || *x > panel.box.right()) return;
  canvas.mark({*x, y}, Shape::disc, first ? 5.4 : 4.2, colour);
}

void draw_columns(Canvas& canvas, const RankingBar& bar, double y, bool first) {
  const TextStyle right{.bold = first, .align = Align::right};
  const TextStyle left{.bold = first};
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, left); };
  canvas.text({kLevelRight, y}, level_text(bar), right);
  canvas.text({kCallLeft, y}, elided(bar.call, kCallRight - kCallLeft - 8, measure), left);
  canvas.text({kPageSize.width - kMargin, y}, probability_text(bar), right);
}

void draw_header(Canvas& canvas, double baseline) {
  const TextStyle right{.size = kNoteSize, .colour = palette().quiet, .align = Align::right};
  const TextStyle left = note_style();
  canvas.text({kNameRight, baseline}, "Probe point", right);
  canvas.text({kLevelsLeft, baseline}, "Level with its 95 % interval", left);
  canvas.text({kLevelRight, baseline}, "Level", right);
  canvas.text({kCallLeft, baseline}, "Call", left);
  canvas.text({kPageSize.width - kMargin, baseline}, "Is the loudest", right);
}

void draw_rows(Canvas& canvas, const RankingPicture& picture, const Panel& panel,
               const Notes& notes) {
  const auto bars = shown_bars(picture);
  const double height = row_height(bars.size());
  for (std::size_t i = 0; i < bars.size(); ++i) {
    const double middle = panel.box.y + height * (static_cast<double>(i) + 0.5);
    const double baseline = middle + 0.36 * kTextSize;
    const double line = middle + height / 2;
    canvas.line({kMargin, line}, {kPageSize.width - kMargin, line}, {palette().grid, 0.8});
    draw_name(canvas, bars[i], notes.reference[i], middle, height, i == 0);
    draw_level(canvas, bars[i], panel, middle, i == 0);
    draw_columns(canvas, bars[i], baseline, i == 0);
  }
}

double rows_height(const RankingPicture& picture) {
  const auto rows = shown_bars(picture).size();
  return row_height(rows) * static_cast<double>(rows);
}

/// Levels compare points with each other; the axis says where it begins, for it has no natural
/// zero.
std::string axis_words(const RankingPicture& picture, const Interval& range) {
  return fmt::format("{}; axis begins at {} dB", picture.level_unit, format_number(range.low, 0));
}

void draw_foot(Canvas& canvas, const RankingPicture& picture, const Panel& panel,
               const Interval& range, const Notes& notes) {
  const TextStyle centred{.colour = palette().quiet, .align = Align::centre};
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, centred); };
  const double baseline = panel.box.bottom() + 37;
  canvas.text({panel.box.centre().x, baseline},
              elided(axis_words(picture, range), kLevelRight - kMargin - 60, measure), centred);
  double y = panel.box.bottom() + kRankingAxisRoom;
  for (const std::string& line : notes.lines) {
    canvas.text({kMargin, y}, line, note_style());
    y += kNoteLine;
  }
}

}  // namespace

Size page_size(const RankingPicture& picture) {
  Canvas ruler(PictureFormat::png, {kPageSize.width, 1}, {});
  const double heading = draw_heading(ruler, picture.title, picture.subtitle);
  const double notes = kNoteLine * static_cast<double>(notes_of(ruler, picture).lines.size());
  const double needed =
      heading + kHeaderRoom + rows_height(picture) + kRankingAxisRoom + notes + 12;
  return {kPageSize.width, std::ceil(std::max(needed, 240.0))};
}

void draw_on(Canvas& canvas, const RankingPicture& picture) {
  const double heading = draw_heading(canvas, picture.title, picture.subtitle);
  if (picture.bars.empty()) {
    return draw_nothing_to_show(canvas, heading, "no probe point could be ranked");
  }
  const std::optional<Interval> range = level_range(shown_bars(picture));
  if (!range) return draw_nothing_to_show(canvas, heading, "no level is known at any probe point");

  const Box box{kLevelsLeft, heading + kHeaderRoom, kLevelsRight - kLevelsLeft,
                rows_height(picture)};
  const PlotAxis axis{"Level", "", range->low, range->high, false};
  const Panel panel = panel_of(box, axis, {"", "", 0, 1, false});
  const Notes notes = notes_of(canvas, picture);
  draw_header(canvas, box.y - 12);
  canvas.line({kMargin, box.y}, {kPageSize.width - kMargin, box.y}, {palette().rule, 1});
  draw_x_ticks(canvas, panel, Grid::lines);
  draw_rows(canvas, picture, panel, notes);
  draw_foot(canvas, picture, panel, *range, notes);
}

}  // namespace howl::picture
