#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <map>
#include <string>
#include <vector>

#include "src/document/figures.h"
#include "src/percent_text.h"
#include "src/report/number_text.h"

namespace howl::document {
namespace {

constexpr std::size_t most_rows_behind = 24;
constexpr std::size_t most_map_columns = 8;
constexpr std::size_t most_points_of_track = 60;

std::string unit_heading(const PlotAxis& axis) {
  return axis.unit.empty() ? axis.name : fmt::format("{} ({})", axis.name, axis.unit);
}

/// Decimals that tell apart fields of that width.
int decimals_for(double step) {
  if (!(step > 0.0) || !std::isfinite(step)) return 2;
  return std::clamp(static_cast<int>(std::ceil(1.0 - std::log10(step))), 0, 4);
}

double part_at(double low, double high, std::size_t part, std::size_t parts) {
  return low + (high - low) * static_cast<double>(part) / static_cast<double>(parts);
}

// ---- maps --------------------------------------------------------------------------------------

/// Highest level of the map in one of rows × columns fields; NaN where nothing is known.
double highest_in(const Heatmap& map, std::size_t row, std::size_t rows, std::size_t column,
                  std::size_t columns) {
  double best = std::numeric_limits<double>::quiet_NaN();
  const std::size_t first = column * map.columns / columns;
  const std::size_t last = std::max(first + 1, (column + 1) * map.columns / columns);
  const std::size_t low = row * map.rows / rows;
  const std::size_t high = std::max(low + 1, (row + 1) * map.rows / rows);
  for (std::size_t c = first; c < last; ++c)
    for (std::size_t r = low; r < high; ++r) {
      const auto level = static_cast<double>(map.level_db[c * map.rows + r]);
      if (std::isfinite(level) && !(level <= best)) best = level;
    }
  return best;
}

Table behind(const MapPicture& picture) {
  Table table;
  table.caption = fmt::format("Highest level ({}) in fields of the map", picture.level_unit);
  const std::size_t rows = std::min(most_rows_behind, picture.map.rows);
  const std::size_t columns = std::min(most_map_columns, picture.map.columns);
  if (rows == 0 || columns == 0) return table;
  const double step = (picture.x.high - picture.x.low) / static_cast<double>(columns);
  const double height = (picture.y.high - picture.y.low) / static_cast<double>(rows);
  table.columns.push_back({unit_heading(picture.y)});
  for (std::size_t c = 0; c < columns; ++c)
    table.columns.push_back(
        {fmt::format(
             "{} to {} {}",
             fixed_text(part_at(picture.x.low, picture.x.high, c, columns), decimals_for(step)),
             fixed_text(part_at(picture.x.low, picture.x.high, c + 1, columns), decimals_for(step)),
             picture.x.unit),
         Align::right});
  for (std::size_t r = rows; r-- > 0;) {
    std::vector<std::string> row{
        fixed_text(part_at(picture.y.low, picture.y.high, r, rows), decimals_for(height)) + " to " +
        fixed_text(part_at(picture.y.low, picture.y.high, r + 1, rows), decimals_for(height))};
    for (std::size_t c = 0; c < columns; ++c)
      row.push_back(fixed_text(highest_in(picture.map, r, rows, c, columns), 0));
    table.rows.push_back(std::move(row));
  }
  table.note = "howlpoint export writes the map in full.";
  return table;
}

// ---- curves ------------------------------------------------------------------------------------

double highest_between(const std::vector<PlotPoint>& points, double from, double to) {
  double best = std::numeric_limits<double>::quiet_NaN();
  for (const PlotPoint& point : points)
    if (point.x >= from && point.x < to && !(point.y <= best)) best = point.y;
  return best;
}

Table behind(const SpectrumPicture& picture) {
  Table table;
  table.caption = fmt::format("Highest level ({}) in parts of the spectrum", picture.y.unit);
  table.columns.push_back({unit_heading(picture.x)});
  for (const SpectrumSeries& series : picture.series)
    table.columns.push_back({series.label, Align::right});
  for (const SpectrumMark& mark : picture.marks) {
    std::vector<std::string> row{mark.label};
    for (const SpectrumSeries& series : picture.series)
      row.push_back(fixed_text(
          highest_between(series.points, 0.99 * mark.at.x - 3.0, 1.01 * mark.at.x + 3.0), 1));
    table.rows.push_back(std::move(row));
  }
  for (std::size_t part = 0; part < most_rows_behind; ++part) {
    const double from = part_at(picture.x.low, picture.x.high, part, most_rows_behind);
    const double to = part_at(picture.x.low, picture.x.high, part + 1, most_rows_behind);
    std::vector<std::string> row{fixed_text(from, 0) + " to " + fixed_text(to, 0)};
    for (const SpectrumSeries& series : picture.series)
      row.push_back(fixed_text(highest_between(series.points, from, to), 1));
    table.rows.push_back(std::move(row));
  }
  table.note = "howlpoint export writes the curves in full.";
  return table;
}

Table behind(const PitchPicture& picture) {
  Table table;
  table.caption = "Pitch as measured";
  table.columns = {{"Tone"},
                   {unit_heading(picture.rpm), Align::right},
                   {unit_heading(picture.frequency), Align::right},
                   {"Standard error (Hz)", Align::right}};
  for (const PitchSeries& series : picture.series) {
    const std::size_t every = std::max<std::size_t>(
        1, (series.points.size() + most_points_of_track - 1) / most_points_of_track);
    for (std::size_t i = 0; i < series.points.size(); i += every)
      table.rows.push_back({series.label, fixed_text(series.points[i].rpm, 0),
                            fixed_text(series.points[i].frequency_hz, 2),
                            fixed_text(series.points[i].sigma_hz, 2)});
  }
  table.note = "Long tracks are thinned; howlpoint export writes them in full.";
  return table;
}

// ---- rankings, sketches, suspects --------------------------------------------------------------

std::string interval_words(const std::optional<Interval>& interval) {
  if (!interval) return "-";
  if (!std::isfinite(interval->low)) return "below " + fixed_text(interval->high, 1);
  return span_text(*interval, 1);
}

Table behind(const RankingPicture& picture) {
  Table table;
  table.caption = fmt::format("Levels ({})", picture.level_unit);
  table.columns = {{"Probe point"},
                   {"Level (dB)", Align::right},
                   {"95 % interval (dB)", Align::right},
                   {"Chance of being the loudest", Align::right},
                   {"Difference"}};
  for (const RankingBar& bar : picture.bars)
    table.rows.push_back({bar.point, (bar.upper_bound ? "≤ " : "") + fixed_text(bar.level_db, 1),
                          interval_words(bar.ci95_db), percent_text(bar.probability_loudest),
                          bar.call});
  return table;
}

Table behind(const SketchPicture& picture) {
  Table table;
  table.caption = "Probe points on the sketch";
  table.columns = {{"View"}, {"Probe point"}, {"What is known"}};
  for (const SketchView& view : picture.views)
    for (const SketchSpot& spot : view.spots)
      table.rows.push_back(
          {view.title, spot.point, spot.words.empty() ? "not recorded" : spot.words});
  return table;
}

Table behind(const SuspectsPicture& picture) {
  Table table;
  table.caption = "Suspects and evidence";
  table.columns = {
      {"Suspect"}, {"Chance", Align::right}, {"Evidence"}, {"Weight (dB)", Align::right}};
  for (const SuspectBar& suspect : picture.suspects) {
    table.rows.push_back({suspect.name, percent_text(suspect.probability), "", ""});
    for (const SuspectBar::Item& item : suspect.evidence)
      table.rows.push_back({suspect.name, "", item.words, fmt::format("{:+.1f}", item.weight_db)});
  }
  return table;
}

}  // namespace

Table figures_behind(const AnyPicture& picture) {
  return std::visit([](const auto& it) { return behind(it); }, picture);
}

}  // namespace howl::document
