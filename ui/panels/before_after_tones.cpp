#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "src/report/comparison_words.h"
#include "src/report/number_text.h"
#include "src/report/scale.h"
#include "ui/look/widgets.h"
#include "ui/panels/before_after.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

/// From quieter on the left to louder on the right, zero in the middle.
struct ChangeAxis {
  Area room;
  double reach{};  ///< dB

  float at(double db) const {
    const double share = 0.5 + 0.5 * std::clamp(db / reach, -1.0, 1.0);
    return room.x + static_cast<float>(share) * room.w;
  }
};

double reach_of(const Comparison& comparison) {
  double reach = 12;
  const auto widen = [&](const std::optional<double>& db) {
    if (db) reach = std::max(reach, std::abs(*db));
  };
  const auto heed = [&](const std::optional<MeasuredChange>& measured) {
    if (!measured) return;
    widen(measured->change_db);
    widen(measured->ci95_db.low_db);
    widen(measured->ci95_db.high_db);
  };
  for (const ComparedTone& tone : comparison.tones) heed(tone.measured);
  if (comparison.band) heed(comparison.band->measured);
  return std::min(reach, 60.0) + 2;
}

ImU32 change_colour(const Theme& theme, ToneChange change) {
  switch (change) {
    case ToneChange::gone:
    case ToneChange::weaker:
      return theme.good;
    case ToneChange::louder:
    case ToneChange::appeared:
      return theme.bad;
    case ToneChange::unchanged:
      return theme.ink;
    case ToneChange::undetermined:
      break;
  }
  return theme.quiet;
}

/// Where one side was too faint to be heard the change is a bound, and the line runs off the axis.
void put_change_bar(Frame& frame, const Area& bar, const ChangeAxis& axis,
                    const MeasuredChange& measured, ImU32 colour) {
  fill(bar, faded(frame.theme().grid, 0.6F), frame.u(3));
  const float zero = axis.at(0);
  const auto& ci = measured.ci95_db;
  const auto& change = measured.change_db ? measured.change_db
                       : ci.high_db       ? ci.high_db
                                          : ci.low_db;
  if (change) {
    const float end = axis.at(*change);
    fill({std::min(zero, end), bar.y, std::max(std::abs(end - zero), frame.u(2)), bar.h},
         faded(colour, measured.change_db ? 0.85F : 0.35F), frame.u(2));
  }
  hairline({zero, bar.y - frame.u(3)}, {zero, bar.bottom() + frame.u(3)}, frame.theme().quiet);
  if (!ci.low_db && !ci.high_db) return;
  const float low = axis.at(ci.low_db.value_or(-axis.reach));
  const float high = axis.at(ci.high_db.value_or(axis.reach));
  const float middle = bar.y + bar.h / 2;
  const ImU32 ink = frame.theme().ink;
  hairline({low, middle}, {high, middle}, ink, frame.u(1.8F));
  const auto cap = [&](float x) {
    hairline({x, middle - frame.u(5)}, {x, middle + frame.u(5)}, ink, frame.u(1.8F));
  };
  if (ci.low_db) cap(low);
  if (ci.high_db) cap(high);
}

std::string levels_words(const MeasuredChange& m) {
  return typeset(fmt::format("{} dB before, {} dB after; change {} dB, to the rest {}",
                             compared_level_text(m.before_db, m.before_below_db),
                             compared_level_text(m.after_db, m.after_below_db),
                             change_text(m.change_db, m.ci95_db),
                             change_text(m.relative_change_db, m.relative_ci95_db)));
}

struct ChangeRow {
  std::string name;
  ToneChange change{};
  const std::optional<MeasuredChange>* measured{};
  std::string why;
  bool quiet{};
};

float row_height(const Frame& frame, const ChangeRow& row, float width) {
  const Fonts& fonts = frame.look.fonts;
  float height = frame.u(12) + line_height(fonts.body);
  if (*row.measured)
    height += frame.u(18) + paragraph_height(fonts.note, width, levels_words(**row.measured));
  if (!row.why.empty()) height += paragraph_height(fonts.note, width, "Not proven: " + row.why);
  return std::max(height, frame.u(kTouch));
}

void put_change_row(Frame& frame, const ChangeRow& row, const Area& area, double reach, bool lit) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  if (lit) fill(area, theme.lit, frame.u(6));
  Area inner = area.inset(frame.u(8), frame.u(6));
  Area head = inner.take_top(line_height(fonts.body));
  const std::string word(change_name(row.change));
  const ImU32 colour = change_colour(theme, row.change);
  put_line(fonts.strong, head.take_right(text_width(fonts.strong, word) + 1, frame.u(8)), colour,
           word, Side::right);
  put_line(lit ? fonts.strong : fonts.body, head, row.quiet ? theme.quiet : theme.ink, row.name);
  if (const auto& measured = *row.measured) {
    const Area bar = inner.take_top(frame.u(12), frame.u(6));
    put_change_bar(frame, bar, {bar, reach}, *measured, colour);
    inner.take_top(put_paragraph(fonts.note, inner, theme.quiet, levels_words(*measured)));
  }
  if (!row.why.empty()) put_paragraph(fonts.note, inner, theme.quiet, "Not proven: " + row.why);
}

void put_texts(Frame& frame, Area& rows, std::string_view title,
               const std::vector<std::string>& texts, ImU32 colour) {
  if (texts.empty()) return;
  put_line(frame.look.fonts.label, rows.take_top(line_height(frame.look.fonts.note), frame.u(2)),
           frame.theme().accent, title);
  for (const std::string& text : texts)
    rows.take_top(put_paragraph(frame.look.fonts.note, rows, colour, typeset(text)), frame.u(4));
  rows.take_top(frame.u(8));
}

std::vector<std::string> warnings_of(const Comparison& comparison) {
  std::vector<std::string> all = comparison.warnings;
  for (const ComparedPlace& place : comparison.places)
    for (const std::string& doubt : place.doubts)
      all.push_back(fmt::format("{}, {}: {}", place.point, place.condition, doubt));
  return all;
}

std::vector<std::string> without_partner(const Comparison& comparison) {
  std::vector<std::string> all;
  const auto add = [&](const char* side, const std::vector<LoneTakes>& lone_takes) {
    for (const LoneTakes& lone : lone_takes)
      all.push_back(fmt::format("only {}: {}, {} ({})", side, lone.point, lone.condition,
                                fmt::join(lone.takes, " ")));
  };
  add("before", comparison.only_before);
  add("after", comparison.only_after);
  return all;
}

bool is_why_told(const ComparedTone& tone) {
  return !tone.why.empty() && (tone.prominent_before || tone.prominent_after || !tone.measured);
}

/// What is wrong with a place holds for many tones: the first of them says it in full.
std::string why_words(const Comparison& comparison, const ComparedTone& tone) {
  if (!is_why_told(tone)) return {};
  const auto first = std::ranges::find_if(comparison.tones, [&](const ComparedTone& other) {
    return is_why_told(other) && other.why == tone.why;
  });
  return &*first == &tone ? tone.why : "as " + tone_name(*first);
}

void put_tone_rows(Frame& frame, Area& rows, const Comparison& comparison) {
  const double reach = reach_of(comparison);
  for (std::size_t i = 0; i < comparison.tones.size(); ++i) {
    const ComparedTone& tone = comparison.tones[i];
    const ChangeRow row{tone_name(tone), tone.change, &tone.measured, why_words(comparison, tone),
                        tone.combustion};
    const Area area = rows.take_top(row_height(frame, row, rows.w - frame.u(16)), frame.u(3));
    const Touch touched = touch(frame, fmt::format("compared.{}", i), area);
    if (touched.over) fill(area, faded(frame.theme().raised, 0.5F), frame.u(6));
    put_change_row(frame, row, area, reach, frame.state.before_after.tone == i);
    if (touched.pressed) frame.wish(PickComparedTone{i});
  }
  if (!comparison.band || !comparison.band->measured) return;
  const ComparedBand& band = *comparison.band;
  const std::string from = band.chosen_by_user ? ", set by hand" : ", from the case before";
  const ChangeRow row{"Suspect band " + band_text(band.band) + from, band.change, &band.measured,
                      "", false};
  put_change_row(frame, row,
                 rows.take_top(row_height(frame, row, rows.w - frame.u(16)), frame.u(10)), reach,
                 false);
}

void put_place_rows(Frame& frame, Area& rows, const Comparison& comparison) {
  const Fonts& fonts = frame.look.fonts;
  put_line(fonts.label, rows.take_top(line_height(fonts.note), frame.u(2)), frame.theme().accent,
           "Places compared");
  for (std::size_t i = 0; i < comparison.places.size(); ++i) {
    const ComparedPlace& place = comparison.places[i];
    const Area row = rows.take_top(frame.u(52), frame.u(2));
    const Touch touched = touch(frame, fmt::format("places.{}", i), row);
    const bool lit = frame.state.before_after.place == i;
    if (lit || touched.over)
      fill(row, lit ? frame.theme().lit : faded(frame.theme().raised, 0.5F), frame.u(6));
    Area inner = row.inset(frame.u(8), frame.u(6));
    put_line(lit ? fonts.strong : fonts.body, inner.take_top(inner.h / 2), frame.theme().ink,
             place.point);
    put_line(fonts.note, inner, frame.theme().quiet, place.condition);
    if (touched.pressed) frame.wish(PickPlace{i});
  }
  rows.take_top(frame.u(8));
}

}  // namespace

void put_compared_tones(Frame& frame, const Area& area, bool with_places) {
  const Comparison& comparison = *frame.state.before_after.comparison;
  const Area inner = card(frame, area, "What became of each tone", "left: quieter; line: 95 %");
  scrolled(frame, "compared", inner, [&](Area& rows) {
    const auto put_advice = [&] {
      put_texts(frame, rows, "What to record next", comparison.record_next, frame.theme().ink);
    };
    const bool open = comparison.howl == ToneChange::undetermined;
    if (open) put_advice();
    put_tone_rows(frame, rows, comparison);
    rows.take_top(frame.u(8));
    if (with_places) put_place_rows(frame, rows, comparison);
    if (!open) put_advice();
    put_texts(frame, rows, "Warnings", warnings_of(comparison), frame.theme().warn);
    put_texts(frame, rows, "Takes without a partner, not compared", without_partner(comparison),
              frame.theme().quiet);
    put_texts(frame, rows, "", {"Levels are " + comparison.level_reference + "."},
              frame.theme().quiet);
  });
}

}  // namespace howl::desk
