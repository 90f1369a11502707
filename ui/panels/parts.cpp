#include "ui/panels/parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "src/case/find_take.h"
#include "src/report/family_words.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/scale.h"
#include "ui/look/sight.h"
#include "ui/look/widgets.h"
#include "ui/panels/load_choice.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

std::string tone_remark(const ToneResult& tone) {
  if (tone.combustion) return "engine's firing";
  if (tone.maybe_combustion) return "firing?";
  return tone.prominent ? "prominent" : "";
}

Row tone_row(const Frame& frame, const ToneResult& tone) {
  Row row;
  row.id = tone.id;
  row.cells = {tone.id,
               tone.order ? order_text(tone) : "–",
               span_text(tone.frequency_hz, 0),
               std::string(behaviour_name(tone.behaviour)),
               tone.behaviour == Behaviour::speed_locked ? drive_text(tone) : "–",
               typeset(fixed_text(tone.level_db, 1)),
               typeset(fixed_text(tone.tone_to_noise_db, 0)),
               tone_remark(tone)};
  row.lit = is_lit_tone(frame, tone.id);
  row.quiet = tone.combustion;
  row.mark = tone_colour(frame, tone.id);
  return row;
}

bool take_has_faults(const TakeResult& take) {
  return !take.warnings.empty() || !warning_texts(take.quality).empty();
}

/// Where there is little room, without load and where the speed is from.
Row take_row(const Frame& frame, const TakeResult& take, bool narrow) {
  Row row;
  row.id = take.id;
  row.cells = {take.id, take.point, speed_words(take)};
  if (!narrow) row.cells.insert(row.cells.end(), {take.speed_source, load_words(take)});
  row.cells.push_back(fixed_text(take.seconds, 1));
  row.lit = is_lit_take(frame, take.id);
  if (take_has_faults(take)) row.warning = Sign::warning;
  return row;
}

Row plain_take_row(const Frame& frame, const Take& take, bool narrow) {
  Row row;
  row.id = take.id;
  row.cells = {take.id, take.point, ""};
  if (!narrow) row.cells.insert(row.cells.end(), {"", ""});
  row.cells.push_back(fixed_text(seconds_of(take), 1));
  row.lit = is_lit_take(frame, take.id);
  return row;
}

void put_take_lines(Frame& frame, const Take& take, const TakeResult* result, const Area& area) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  Area inner = area.inset(frame.u(10), frame.u(6));
  if (result != nullptr && take_has_faults(*result)) {
    const Area sign = inner.take_right(frame.u(17), frame.u(6));
    put_sign({sign.x, sign.y + (sign.h - sign.w) / 2, sign.w, sign.w}, Sign::warning, theme.warn);
  }
  const bool lit = is_lit_take(frame, take.id);
  const Area id = inner.take_left(frame.u(38), frame.u(6));
  put_line(fonts.label, {id.x, id.y, id.w, inner.h / 2}, lit ? theme.accent : theme.quiet, take.id);
  put_line(lit ? fonts.strong : fonts.body, inner.take_top(inner.h / 2), theme.ink, take.point);
  std::string words = fmt::format("{:.1f} s", seconds_of(take));
  if (result != nullptr) {
    const std::string road = road_text(*result);
    words = speed_words(*result) + " · " + (road.empty() ? "" : road + " · ") + words;
  }
  put_line(fonts.note, inner, theme.quiet, words);
}

/// The colour that a take's spectrum has, where it is one of those shown.
std::optional<ImU32> spectrum_colour(const Frame& frame, const std::string& id) {
  const ViewState& view = frame.state.view;
  const auto& series = frame.theme().series;
  if (view.compared.empty()) return std::nullopt;
  if (view.selection.take == id) return series[0];
  const auto place = std::ranges::find(view.compared, id);
  if (place == view.compared.end()) return std::nullopt;
  return series.at(static_cast<std::size_t>(place - view.compared.begin() + 1) % series.size());
}

/// A row of the takes to pick, and what lies between two, in layout units.
constexpr float kTakeRow = 52;
constexpr float kTakeGap = 2;

/// At the right of a take's row: lays its spectrum over that of the picked one. Returns the rest.
Area put_lay_over(Frame& frame, const std::string& take, Area row) {
  if (is_lit_take(frame, take) || row.w < frame.u(220)) return row;
  const bool on = std::ranges::count(frame.state.view.compared, take) > 0;
  const float side = frame.u(kTouch);
  const Area place = row.take_right(side, frame.u(2));
  if (button(frame, "takes." + take + ".over",
             {place.x, place.y + (place.h - side) / 2, side, side},
             {.label = "", .sign = on ? Sign::tick : Sign::plus, .look = ButtonLook::bare}))
    frame.wish(CompareTake{take});
  return row;
}

void put_take_list(Frame& frame, Area& rows) {
  const Analysis* const analysis = frame.state.analysis();
  const float step = frame.u(kTakeRow) + frame.u(kTakeGap);
  for (const std::string& id : listed_takes(frame.state)) {
    const Take& take = *find_take(frame.state.opened->value, id);
    const Area whole = rows.take_top(frame.u(kTakeRow), frame.u(kTakeGap));
    const Area row = put_lay_over(frame, take.id, whole);
    const std::string name = "takes." + take.id;
    const Touch touched = touch(frame, name, row);
    const bool lit = is_lit_take(frame, take.id);
    if (lit) bring_to_sight(row, take.id, step);
    if (frame.walk.arrived(name)) scroll_to(row, step);
    if (lit || touched.over)
      fill(row, lit ? frame.theme().lit : faded(frame.theme().raised, 0.55F), frame.u(6));
    if (const auto colour = spectrum_colour(frame, take.id))
      fill({row.x, row.y + frame.u(9), frame.u(3.5F), row.h - frame.u(18)}, *colour, frame.u(2));
    put_take_lines(frame, take, analysis ? find_take(*analysis, take.id) : nullptr, row);
    if (touched.pressed)
      ImGui::GetIO().KeyCtrl ? frame.wish(CompareTake{take.id}) : frame.wish(PickTake{take.id});
  }
}

}  // namespace

ImU32 tone_colour(const Frame& frame, const std::string& id) {
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr) return frame.theme().quiet;
  std::size_t place = 0;
  for (const ToneResult& tone : analysis->tones) {
    if (tone.id == id)
      return tone.combustion ? frame.theme().quiet
                             : frame.theme().series.at(place % picture::kMaxSeries);
    if (!tone.combustion) ++place;
  }
  return frame.theme().quiet;
}

bool is_lit_tone(const Frame& frame, const std::string& id) {
  return frame.state.view.selection.tone == id;
}
bool is_lit_take(const Frame& frame, const std::string& id) {
  return frame.state.view.selection.take == id;
}
bool is_lit_point(const Frame& frame, const std::string& name) {
  // Unless it is the take's that is listened to, it would tell a class where it is loud.
  if (is_answer_hidden(frame.state) && frame.state.view.step != Step::listen) return false;
  return frame.state.view.selection.point == name;
}

std::string speed_words(const TakeResult& take) {
  if (take.engine_off) return "engine off";
  const auto number = [](double rpm) { return picture::format_number(rpm, 0); };
  if (take.rpm_max < 1.06 * take.rpm_min)
    return number(0.5 * (take.rpm_min + take.rpm_max)) + " rpm";
  return number(take.rpm_min) + " … " + number(take.rpm_max) + " rpm";
}

std::string minutes_words(double minutes) {
  return minutes < 1.5 ? std::string("1 min") : fmt::format("{:.0f} min", std::ceil(minutes));
}

std::string tone_words(const ToneResult& tone) {
  if (tone.order) return fmt::format("order {:.2f}", *tone.order);
  return span_text(tone.frequency_hz, 0) + " Hz";
}

void put_tones(Frame& frame, const Area& area) {
  const Analysis& analysis = *frame.state.analysis();
  const Area inner = card(frame, area, "Tones", analysis.level_reference);
  if (analysis.tones.empty()) return nothing_to_show(frame, inner, "No tone stands out.");
  std::vector<Row> rows;
  for (const ToneResult& tone : analysis.tones)
    if (!told_with_family(tone, analysis)) rows.push_back(tone_row(frame, tone));
  constexpr std::array<Column, 8> columns{{{"tone", 0.8F},
                                           {"order", 1.2F, Side::right},
                                           {"Hz", 1.3F, Side::right},
                                           {"pitch", 1.25F},
                                           {"drive", 1.2F},
                                           {"dB", 0.8F, Side::right},
                                           {"over noise", 1.0F, Side::right},
                                           {"", 1.35F}}};
  if (const auto picked = table(frame, "tones", inner, columns, rows)) frame.wish(PickTone{picked});
}

void put_takes(Frame& frame, const Area& area) {
  const bool narrow = area.w < frame.u(640);
  std::vector<Row> rows;
  const Analysis* const analysis = frame.state.analysis();
  for (const std::string& id : listed_takes(frame.state)) {
    const TakeResult* const result = analysis != nullptr ? find_take(*analysis, id) : nullptr;
    rows.push_back(result != nullptr
                       ? take_row(frame, *result, narrow)
                       : plain_take_row(frame, *find_take(frame.state.opened->value, id), narrow));
  }
  if (rows.empty()) return nothing_to_show(frame, area, "Nothing was recorded yet.");
  constexpr std::array<Column, 6> columns{{{"take", 0.7F},
                                           {"point", 2.2F},
                                           {"speed", 1.7F, Side::right},
                                           {"from", 1},
                                           {"load", 1.8F},
                                           {"s", 1.15F, Side::right}}};
  constexpr std::array<Column, 4> few{
      {{"", 0.7F}, {"point", 2.3F}, {"speed", 2.2F, Side::right}, {"s", 1.1F, Side::right}}};
  if (const auto picked =
          table(frame, "takes", area, narrow ? std::span<const Column>(few) : columns, rows))
    frame.wish(PickTake{picked});
}

void put_takes_to_pick(Frame& frame, const Area& area) {
  if (frame.state.opened->value.takes.empty())
    return nothing_to_show(frame, area, "Nothing was recorded yet.");
  scrolled(
      frame, "takes", whole_rows(area, frame.u(kTakeRow), frame.u(kTakeGap)),
      [&](Area& rows) { put_take_list(frame, rows); }, ScrollEdge::plain);
}

float finding_height(const Frame& frame, float width, std::string_view text) {
  return paragraph_height(frame.look.fonts.body, width - frame.u(2 * kPad), text) + frame.u(24);
}

float put_finding(Frame& frame, const Area& area, std::string_view text) {
  const float height = finding_height(frame, area.w, text);
  const Area box{area.x, area.y, area.w, height};
  fill(box, frame.theme().card, frame.u(10));
  if (!frame.theme().dark) outline(box, frame.theme().rule, frame.u(10));
  fill({box.x, box.y + frame.u(10), frame.u(3.5F), box.h - frame.u(20)}, frame.theme().accent,
       frame.u(2));
  put_paragraph(frame.look.fonts.body, box.inset(frame.u(kPad), frame.u(12)), frame.theme().ink,
                text);
  return height;
}

void put_in_words(Frame& frame, const Area& area, std::string_view text) {
  scrolled(frame, "in.words", card(frame, area, ""), [&](Area& rows) {
    rows.take_top(put_paragraph(frame.look.fonts.body, rows, frame.theme().ink, text));
  });
}

std::size_t put_parts_in_turn(Frame& frame, Area& rest, std::span<const std::string_view> names) {
  const Step step = frame.state.view.step;
  const std::size_t wanted = frame.state.view.parts.at(static_cast<std::size_t>(step));
  const std::size_t shown = std::min(wanted, names.size() - 1);
  if (const auto chosen =
          choice(frame, "part", rest.take_top(frame.u(kTouch), frame.u(8)), names, shown))
    frame.wish(ShowPart{step, *chosen});
  return shown;
}

bool has_answer(Frame& frame, const Area& area) {
  if (frame.state.answer) return true;
  const Area inner = card(frame, area, "");
  if (frame.state.opened->value.takes.empty())
    nothing_to_show(frame, inner,
                    "Nothing was recorded yet. Choose the points, then record; the answer comes by "
                    "itself.");
  else if (!frame.state.jobs.empty())
    nothing_to_show(frame, inner, "The takes are being analysed …");
  else
    nothing_to_show(frame, inner, "The analysis was stopped, or did not succeed.");
  return false;
}

}  // namespace howl::desk
