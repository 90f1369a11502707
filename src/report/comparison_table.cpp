#include "src/report/comparison_table.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "src/report/number_text.h"
#include "src/report/text_columns.h"
#include "src/report/text_page.h"

namespace howl {
namespace {

using Align = TextColumns::Align;

constexpr std::size_t most_compared_howls = 8;
constexpr std::size_t most_compared_firing_orders = 3;

std::string level_text(const std::optional<double>& level, double below) {
  return level ? fixed_text(level, 0) : "< " + fixed_text(below, 0);
}

std::string signed_text(double value) {
  const std::string text = fixed_text(value, 0);
  return value > 0.0 && text != "0" ? "+" + text : text;
}

/// "-24 (-28 … -20)", "< -31" where only an upper bound is known.
std::string change_text(const std::optional<double>& change, const ChangeRange& ci) {
  if (change && ci.low_db && ci.high_db)
    return fmt::format("{} ({} … {})", signed_text(*change), signed_text(*ci.low_db),
                       signed_text(*ci.high_db));
  if (ci.high_db) return "< " + signed_text(*ci.high_db);
  if (ci.low_db) return "> " + signed_text(*ci.low_db);
  return "-";
}

std::string ratio_text(const std::optional<double>& ratio, bool prominent) {
  return ratio ? signed_text(*ratio) + (prominent ? "*" : "") : "-";
}

/// Where it stands out most on either side.
std::string ratios_text(const ComparedTone& tone) {
  std::optional<double> before;
  std::optional<double> after;
  for (const ToneAtPlace& at : tone.at) {
    if (at.tone_to_noise_before_db)
      before = std::max(before.value_or(-300.0), *at.tone_to_noise_before_db);
    if (at.tone_to_noise_after_db)
      after = std::max(after.value_or(-300.0), *at.tone_to_noise_after_db);
  }
  return ratio_text(before, tone.prominent_before) + " / " +
         ratio_text(after, tone.prominent_after);
}

std::string name_of(const ComparedTone& tone) {
  std::string name = tone.order ? fmt::format("order {:.2f}", *tone.order)
                                : span_text(tone.frequency_hz, 0) + " Hz";
  return tone.combustion ? name + " firing" : name;
}

std::vector<std::string> tone_row(const ComparedTone& tone) {
  const std::string change(change_name(tone.change));
  if (!tone.measured) return {name_of(tone), "-", "-", "-", "-", ratios_text(tone), change};
  const MeasuredChange& m = *tone.measured;
  return {name_of(tone),
          level_text(m.before_db, m.before_below_db),
          level_text(m.after_db, m.after_below_db),
          change_text(m.change_db, m.ci95_db),
          change_text(m.relative_change_db, m.relative_ci95_db),
          ratios_text(tone),
          change};
}

std::vector<const ComparedTone*> shown_tones(const Comparison& comparison) {
  std::vector<const ComparedTone*> shown;
  std::size_t howls = 0;
  std::size_t firing = 0;
  for (const ComparedTone& tone : comparison.tones)
    if (tone.combustion ? firing++ < most_compared_firing_orders : howls++ < most_compared_howls)
      shown.push_back(&tone);
  return shown;
}

/// "5 gone, 12 unchanged"
std::string counts(const std::vector<const ComparedTone*>& tones) {
  std::vector<std::string> parts;
  for (const ToneChange change :
       {ToneChange::appeared, ToneChange::louder, ToneChange::gone, ToneChange::weaker,
        ToneChange::unchanged, ToneChange::undetermined}) {
    const auto count = std::ranges::count(tones, change, &ComparedTone::change);
    if (count > 0) parts.push_back(fmt::format("{} {}", count, change_name(change)));
  }
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::string tones_section(const Comparison& comparison) {
  if (comparison.tones.empty()) return {};
  const auto shown = shown_tones(comparison);
  TextColumns table({{.heading = "tone", .widest = 22},
                     {.heading = "before", .align = Align::right},
                     {.heading = "after", .align = Align::right},
                     {.heading = "change", .align = Align::right},
                     {.heading = "to the rest", .align = Align::right},
                     {.heading = "T/N", .align = Align::right},
                     {.heading = ""}});
  std::vector<const ComparedTone*> rest;
  for (const ComparedTone& tone : comparison.tones)
    if (std::ranges::find(shown, &tone) == shown.end()) rest.push_back(&tone);
  for (const ComparedTone* tone : shown) table.add(tone_row(*tone));
  std::string text = heading(fmt::format("Tones ({})", comparison.level_reference)) + table.text();
  if (!rest.empty())
    text +=
        paragraph(fmt::format("and {} weaker: {}; --json shows all", rest.size(), counts(rest)));
  return text +
         paragraph(
             "change: dB, with 95 %; to the rest: the same relative to the rest of the spectrum, "
             "which the hand's pressure does not move; T/N: dB above the noise around it before / "
             "after, * prominent");
}

std::string band_section(const Comparison& comparison) {
  if (!comparison.band || !comparison.band->measured) return {};
  const ComparedBand& band = *comparison.band;
  const MeasuredChange& m = *band.measured;
  return heading("Suspect band") +
         paragraph(fmt::format(
             "{}, {}: {} dB before, {} dB after; change {} dB: {}", band_text(band.band),
             band.chosen_by_user ? "chosen by you" : "from the case before",
             level_text(m.before_db, m.before_below_db), level_text(m.after_db, m.after_below_db),
             change_text(m.change_db, m.ci95_db), change_name(band.change)));
}

std::string optional_signed(const std::optional<double>& value) {
  return value ? signed_text(*value) : "-";
}

std::string places_section(const Comparison& comparison) {
  if (comparison.places.empty()) return {};
  TextColumns table({{.heading = "point", .widest = 22},
                     {.heading = "at", .widest = 26},
                     {.heading = "before", .widest = 10},
                     {.heading = "after", .widest = 10},
                     {.heading = "rest", .align = Align::right},
                     {.heading = "firing", .align = Align::right},
                     {.heading = ""}});
  for (const ComparedPlace& place : comparison.places)
    table.add({place.point, place.condition, fmt::format("{}", fmt::join(place.takes_before, " ")),
               fmt::format("{}", fmt::join(place.takes_after, " ")),
               optional_signed(place.rest_change_db), optional_signed(place.firing_change_db),
               place.doubts.empty() ? "" : "(!)"});
  return heading("Places compared") + table.text() +
         paragraph(
             "rest, firing: change in dB of the noise between the tones and of the engine's "
             "firing orders");
}

std::string lone_section(const Comparison& comparison) {
  std::string text;
  const auto add = [&](const char* side, const std::vector<LoneTakes>& all) {
    for (const LoneTakes& lone : all)
      text += paragraph(fmt::format("only {}: {}, {} ({})", side, lone.point, lone.condition,
                                    fmt::join(lone.takes, " ")));
  };
  add("before", comparison.only_before);
  add("after", comparison.only_after);
  return text.empty() ? text : heading("Takes without a partner, not compared") + text;
}

std::string why_section(const Comparison& comparison) {
  std::string text;
  for (const ComparedTone* tone : shown_tones(comparison))
    if (!tone->why.empty() && (tone->prominent_before || tone->prominent_after))
      text += paragraph(name_of(*tone) + ": " + tone->why);
  return text.empty() ? text : heading("Undetermined, because") + text;
}

std::string warnings_section(const Comparison& comparison) {
  std::string text;
  for (const std::string& warning : comparison.warnings) text += paragraph(warning);
  for (const ComparedPlace& place : comparison.places)
    for (const std::string& doubt : place.doubts)
      text += paragraph(fmt::format("{}, {}: {}", place.point, place.condition, doubt));
  return text.empty() ? text : heading("Warnings (!)") + text;
}

std::string advice_section(const Comparison& comparison) {
  std::string text;
  for (const std::string& advice : comparison.record_next) text += paragraph(advice);
  return text.empty() ? text : heading("What to record next") + text;
}

}  // namespace

std::string comparison_table(const Case& before, const Case& after, const Comparison& comparison) {
  return wrapped("Before: " + before.title, 0, page_width) +
         wrapped("After:  " + after.title, 0, page_width) + "\n" +
         wrapped(comparison.verdict, 0, page_width) + tones_section(comparison) +
         band_section(comparison) + places_section(comparison) + lone_section(comparison) +
         why_section(comparison) + warnings_section(comparison) + advice_section(comparison);
}

}  // namespace howl
