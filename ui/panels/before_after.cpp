#include "ui/panels/before_after.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "src/report/comparison_words.h"
#include "ui/look/widgets.h"
#include "ui/panels/parts.h"
#include "ui/panels/spectrum_plot.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

bool may_choose(const Frame& frame) { return !frame.state.settings.class_mode; }

/// In the middle of what is left, where there is nothing else.
void put_choosing(Frame& frame, const Area& area, std::string_view label) {
  if (!may_choose(frame)) return;
  const ButtonWords words{.label = label, .sign = Sign::folder, .look = ButtonLook::main};
  const float width = button_width(frame, words);
  if (button(frame, "before.choose", {area.x + (area.w - width) / 2, area.y, width, frame.u(52)},
             words))
    frame.wish(BeginSheet{.kind = SheetKind::earlier_case});
}

void put_none_yet(Frame& frame, const Area& area, std::string_view why, std::string_view label) {
  Area inner = card(frame, area, "");
  const Area foot = inner.take_bottom(inner.h * 0.45F);
  put_choosing(frame, foot, label);
  ImFont* const font = frame.look.fonts.body;
  const float width = std::min(inner.w, frame.u(520));
  const float height = paragraph_height(font, width, why);
  put_paragraph(font,
                {inner.x + (inner.w - width) / 2,
                 std::max(inner.y, inner.bottom() - height - frame.u(16)), width, height + 1},
                frame.theme().quiet, why);
}

/// Which case it is compared with, and the way to another.
void put_earlier(Frame& frame, Area area) {
  const BeforeAfter& now = frame.state.before_after;
  if (may_choose(frame)) {
    const ButtonWords leave{.label = "Leave it off"};
    if (button(frame, "before.leave", area.take_right(button_width(frame, leave), frame.u(8)),
               leave))
      frame.wish(CompareWith{});
    const ButtonWords other{.label = "Another case", .sign = Sign::folder};
    if (button(frame, "before.choose", area.take_right(button_width(frame, other), frame.u(12)),
               other))
      frame.wish(BeginSheet{.kind = SheetKind::earlier_case});
  }
  const std::string name = now.folder.filename().string();
  ImFont* const font = frame.look.fonts.note;
  std::string words = "before: " + name;
  if (now.earlier) {
    const std::string in_full = "before: " + now.earlier->value.title + " (" + name + ")";
    if (text_width(font, in_full) <= area.w) words = in_full;
  }
  put_line(font, area, frame.theme().quiet, words);
}

void put_compared_places(Frame& frame, const Area& area) {
  const BeforeAfter& now = frame.state.before_after;
  const auto& places = now.comparison->places;
  const Area inner = card(frame, area, "Places compared", "point, speed and load alike");
  if (places.empty())
    return nothing_to_show(frame, inner,
                           "No take has a partner in the other case. It takes the same point, "
                           "speed and load before and after.");
  std::vector<Row> rows;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const ComparedPlace& place = places[i];
    Row row;
    row.id = std::to_string(i);
    row.cells = {place.point, place.condition,
                 fmt::format("{} → {}", fmt::join(place.takes_before, " "),
                             fmt::join(place.takes_after, " ")),
                 typeset(signed_text(place.rest_change_db))};
    row.lit = i == now.place;
    row.quiet = !place.trusted;
    if (!place.doubts.empty()) row.warning = Sign::warning;
    rows.push_back(std::move(row));
  }
  constexpr std::array<Column, 4> columns{
      {{"point", 1.7F}, {"at", 2.4F}, {"takes", 1.2F}, {"rest, dB", 0.9F, Side::right}}};
  if (const auto picked = table(frame, "places", inner, columns, rows))
    frame.wish(PickPlace{static_cast<std::size_t>(std::stoul(*picked))});
}

/// What there is instead of a comparison.
void put_instead(Frame& frame, const Area& area) {
  const BeforeAfter& now = frame.state.before_after;
  if (!now.fault.empty())
    return put_none_yet(frame, area,
                        now.fault + (now.remedy.empty() ? "" : ". To do: " + now.remedy),
                        "Choose another case");
  if (now.folder.empty())
    return put_none_yet(
        frame, area,
        "After a repair, record the same points again at the same speeds, loads and gain, into a "
        "case of its own. Then choose the case from before here: it says whether the howl is gone, "
        "what stayed and what is new.",
        "Choose the case before");
  nothing_to_show(frame, card(frame, area, ""),
                  frame.state.answer_outdated ? "The takes are being analysed …"
                                              : "Comparing with the case before …");
}

Interval pair_range(const Frame& frame, const PairSpectra& pair) {
  if (frame.state.view.sound.frequency_hz) return *frame.state.view.sound.frequency_hz;
  double top = 800;
  for (const ComparedTone& tone : frame.state.before_after.comparison->tones)
    if (!tone.combustion && tone.remark.empty()) top = std::max(top, 1.45 * tone.frequency_hz.high);
  const PowerSpectrum& after = pair.after.spectrum;
  return {0, std::min(top, after.position(std::max<std::size_t>(after.power.size(), 2) - 1))};
}

/// Where the picked tone lies at the pair's speed.
void put_picked_tone(Frame& frame, const Plot& plot, const PairSpectra& pair) {
  const BeforeAfter& now = frame.state.before_after;
  if (!now.tone || is_answer_hidden(frame.state)) return;
  const ComparedTone& tone = now.comparison->tones[*now.tone];
  double hz = 0.5 * (tone.frequency_hz.low + tone.frequency_hz.high);
  if (tone.order) {
    if (!pair.after.rpm) return;
    hz = *tone.order * *pair.after.rpm / 60;
  }
  const float x = plot.at(hz, plot.y.low).x;
  if (x < plot.box.x || x > plot.box.right()) return;
  const std::array dash{frame.u(5), frame.u(5)};
  put_dashed(plot, std::array{PlotPoint{hz, plot.y.low}, PlotPoint{hz, plot.y.high}},
             frame.theme().accent, frame.u(1.4F), dash);
  put_tag(frame, plot.box, {x + frame.u(6), plot.box.y + frame.u(22)}, tone_name(tone),
          frame.theme().accent);
}

/// The spectra of the picked place, before and after.
void put_pair(Frame& frame, const Area& area) {
  const BeforeAfter& now = frame.state.before_after;
  const Area inner = card(frame, area, "");
  if (now.comparison->places.empty())
    return nothing_to_show(frame, inner, "There is no pair to look at.");
  if (!now.spectra) return nothing_to_show(frame, inner, "Reading the pair …");
  const PairSpectra& pair = *now.spectra;
  const auto named = [](const char* side, const TakeSpectrum& take) {
    return NamedSpectrum{side, take.id + " " + take.point, &take.spectrum, take.rpm};
  };
  const auto& series = frame.theme().series;
  put_spectrum_plot(
      frame, inner,
      {.name = "before.spectrum",
       .spectra = {named("after", pair.after), named("before", pair.before)},
       .colours = {series[0], series[1]},
       .difference = frame.state.view.difference,
       .range = pair_range(frame, pair),
       .rpm = pair.after.rpm},
      {.takes_mouse = {}, .under = {}, .over = [&](const Plot& plot, const SpectrumCurves&) {
         put_picked_tone(frame, plot, pair);
       }});
}

/// With less height the places are in the list, so that the picture keeps some.
constexpr float kLeastForPlaces = 340;

}  // namespace

void draw_before_after(Frame& frame, const Area& area, const Area& head) {
  const BeforeAfter& now = frame.state.before_after;
  Area rest = area;
  if (!now.folder.empty()) put_earlier(frame, head);
  if (!now.comparison) return put_instead(frame, rest);
  rest.take_top(put_finding(frame, rest, now.comparison->verdict), frame.u(kGap));
  const bool room = rest.h > frame.u(kLeastForPlaces);
  put_compared_tones(frame, rest.take_left(rest.w * 0.44F, frame.u(kGap)), !room);
  if (room) put_compared_places(frame, rest.take_top(rest.h * 0.42F, frame.u(kGap)));
  put_pair(frame, rest);
}

}  // namespace howl::desk
