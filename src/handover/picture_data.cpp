#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <string>
#include <vector>

#include "src/handover/tables.h"

namespace howl::handover {
namespace {

double place_on(const PlotAxis& axis, std::size_t i, std::size_t count) {
  if (count < 2) return axis.low;
  return axis.low +
         (axis.high - axis.low) * static_cast<double>(i) / static_cast<double>(count - 1);
}

DataTable data(const MapPicture& picture) {
  DataTable table{{}, picture.title + "; " + picture.subtitle, {}, {}};
  table.columns.push_back({picture.y.name, picture.y.unit, "of the row"});
  for (std::size_t c = 0; c < picture.map.columns; ++c)
    table.columns.push_back(
        {fmt::format("{:.4f}", place_on(picture.x, c, picture.map.columns)), "", ""});
  for (std::size_t r = 0; r < picture.map.rows; ++r) {
    std::vector<DataValue> row{place_on(picture.y, r, picture.map.rows)};
    for (std::size_t c = 0; c < picture.map.columns; ++c)
      row.push_back(
          number_or_unknown(static_cast<double>(picture.map.level_db[c * picture.map.rows + r])));
    table.rows.push_back(std::move(row));
  }
  table.title += fmt::format("; level in {}; columns: {} ({})", picture.level_unit, picture.x.name,
                             picture.x.unit);
  return table;
}

DataTable data(const SpectrumPicture& picture) {
  DataTable table{{},
                  picture.title + "; " + picture.subtitle,
                  {{"series", "", "probe point and take"},
                   {"frequency", picture.x.unit, ""},
                   {"level", picture.y.unit, ""}},
                  {}};
  for (const SpectrumSeries& series : picture.series)
    for (const PlotPoint& point : series.points)
      table.rows.push_back({series.label, number_or_unknown(point.x), number_or_unknown(point.y)});
  return table;
}

DataTable data(const PitchPicture& picture) {
  DataTable table{{},
                  picture.title,
                  {{"series", "", "tone"},
                   {"rpm", picture.rpm.unit, "engine speed"},
                   {"frequency_hz", picture.frequency.unit, "pitch"},
                   {"sigma_hz", "Hz", "standard error"}},
                  {}};
  for (const PitchSeries& series : picture.series)
    for (const PitchSeries::Point& point : series.points)
      table.rows.push_back({series.label, number_or_unknown(point.rpm),
                            number_or_unknown(point.frequency_hz),
                            number_or_unknown(point.sigma_hz)});
  return table;
}

DataTable data(const RankingPicture& picture) {
  DataTable table{{},
                  picture.title + "; " + picture.subtitle,
                  {{"point", "", ""},
                   {"level_db", "dB", picture.level_unit},
                   {"low_db", "dB", "95 % interval"},
                   {"high_db", "dB", "95 % interval"},
                   {"probability_loudest", "", ""},
                   {"call", "", ""},
                   {"upper_bound", "", "the level is at most that"}},
                  {}};
  for (const RankingBar& bar : picture.bars)
    table.rows.push_back({bar.point, number_or_unknown(bar.level_db),
                          bar.ci95_db ? number_or_unknown(bar.ci95_db->low) : DataValue(),
                          bar.ci95_db ? number_or_unknown(bar.ci95_db->high) : DataValue(),
                          number_or_unknown(bar.probability_loudest), bar.call, bar.upper_bound});
  return table;
}

DataTable data(const SketchPicture& picture) {
  DataTable table{{},
                  picture.title,
                  {{"view", "", ""},
                   {"point", "", ""},
                   {"x", "", "0 to 1, from left to right"},
                   {"y", "", "0 to 1, from top to bottom"},
                   {"below_loudest_db", "dB", ""},
                   {"words", "", ""}},
                  {}};
  for (const SketchView& view : picture.views)
    for (const SketchSpot& spot : view.spots)
      table.rows.push_back(
          {view.title, spot.point, number_or_unknown(spot.at.x), number_or_unknown(spot.at.y),
           spot.below_loudest_db ? number_or_unknown(*spot.below_loudest_db) : DataValue(),
           spot.words.empty() ? DataValue() : DataValue(spot.words)});
  return table;
}

DataTable data(const SuspectsPicture& picture) {
  DataTable table{{},
                  picture.title,
                  {{"suspect", "", ""},
                   {"probability", "", "0 to 1"},
                   {"evidence", "", ""},
                   {"weight_db", "dB", ""}},
                  {}};
  for (const SuspectBar& suspect : picture.suspects) {
    table.rows.push_back(
        {suspect.name, number_or_unknown(suspect.probability), DataValue(), DataValue()});
    for (const SuspectBar::Item& item : suspect.evidence)
      table.rows.push_back(
          {suspect.name, DataValue(), item.words, number_or_unknown(item.weight_db)});
  }
  return table;
}

}  // namespace

DataTable data_of(const AnyPicture& picture, const std::string& name) {
  DataTable table = std::visit([](const auto& it) { return data(it); }, picture);
  table.name = name;
  return table;
}

}  // namespace howl::handover
