#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/panels/pitch_laws.h"
#include "ui/panels/pitch_words.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/track_moves.h"

namespace howl::desk {
namespace {

/// Shown beside the picked one, faintly, for comparison.
constexpr std::size_t kMostTracks = 8;

Interval speeds_of(const Analysis& analysis) {
  Interval rpm{1e9, 0};
  for (const TakeResult& take : analysis.takes)
    if (!take.engine_off) rpm = {std::min(rpm.low, take.rpm_min), std::max(rpm.high, take.rpm_max)};
  if (rpm.low > rpm.high) return {0, 4000};
  const double room = std::max(60.0, 0.06 * rpm.width());
  return {std::max(0.0, rpm.low - room), rpm.high + room};
}

/// What lies outside is left out, what lies on the edge is drawn whole.
bool is_in(const Plot& plot, ImVec2 at) {
  return plot.box.x <= at.x && at.x <= plot.box.right() && plot.box.y <= at.y &&
         at.y <= plot.box.bottom();
}

void put_points(Frame& frame, const Plot& plot, const ToneResult& tone, ImU32 colour, bool lit) {
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const auto& take = frame.state.view.selection.take;
  for (const TrackPoint& point : tone.track) {
    const ImVec2 at = plot.at(point.rpm, point.frequency_hz);
    if (!is_in(plot, at)) continue;
    const bool of_take = lit && take == point.take;
    list.AddCircleFilled(at, frame.u(lit ? 3.6F : 2.2F), faded(colour, lit ? 0.9F : 0.4F));
    if (of_take) list.AddCircle(at, frame.u(5.5F), frame.theme().accent, 0, frame.u(1.5F));
    if (!lit) continue;
    const float low =
        std::min(plot.at(point.rpm, point.frequency_hz - 2 * point.sigma_hz).y, plot.box.bottom());
    const float high =
        std::max(plot.at(point.rpm, point.frequency_hz + 2 * point.sigma_hz).y, plot.box.y);
    if (low - high > frame.u(5))
      hairline({at.x, low}, {at.x, high}, faded(colour, 0.6F), frame.u(1.2F));
  }
}

/// Those shown beside the picked tone.
std::vector<const ToneResult*> tones_shown(const Analysis& analysis, const ToneResult& tone) {
  std::vector<const ToneResult*> shown{&tone};
  for (const ToneResult& other : analysis.tones)
    if (other.id != tone.id && shown.size() <= kMostTracks) shown.push_back(&other);
  return shown;
}

struct NearPoint {
  const ToneResult* tone{};
  std::size_t index{};
  ImVec2 at{};
  float away{};
};

std::optional<NearPoint> nearest_point(const Plot& plot,
                                       const std::vector<const ToneResult*>& tones, ImVec2 mouse) {
  std::optional<NearPoint> best;
  for (const ToneResult* const tone : tones)
    for (std::size_t i = 0; i < tone->track.size(); ++i) {
      const ImVec2 at = plot.at(tone->track[i].rpm, tone->track[i].frequency_hz);
      const float away = std::hypot(at.x - mouse.x, at.y - mouse.y);
      if (is_in(plot, at) && (!best || away < best->away)) best = {tone, i, at, away};
    }
  return best;
}

/// The point at the cursor, which is the same in every plot; what it reads, if `told`.
void put_point_at_cursor(Frame& frame, const Plot& plot, const ToneResult& tone, bool told) {
  const auto lit = track_point_at_cursor(frame.state, tone);
  if (!lit) return;
  const TrackPoint& point = tone.track[*lit];
  const ImVec2 at = plot.at(point.rpm, point.frequency_hz);
  const ImU32 ink = frame.theme().ink;
  hairline({at.x, plot.box.y}, {at.x, plot.box.bottom()}, faded(ink, 0.7F));
  hairline({plot.box.x, at.y}, {plot.box.right(), at.y}, faded(ink, 0.7F));
  ImGui::GetWindowDrawList()->AddCircle(at, frame.u(7.5F), ink, 0, frame.u(2));
  if (!told) return;
  put_tag(frame, plot.box, {at.x + frame.u(12), at.y - frame.u(10)},
          fmt::format("{} at {:.2f} s", point_words(point), point.time_s), ink);
}

/// What the mouse does in the plot, and what is read under it: the place itself, by a cross, and
/// the nearest point that was measured, by a ring.
void read_under_mouse(Frame& frame, const Plot& plot, const std::vector<const ToneResult*>& tones,
                      const Touch& touched) {
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  const ImU32 ink = frame.theme().ink;
  hairline({mouse.x, plot.box.y}, {mouse.x, plot.box.bottom()}, faded(ink, 0.45F));
  hairline({plot.box.x, mouse.y}, {plot.box.right(), mouse.y}, faded(ink, 0.45F));
  const float arm = frame.u(6);
  hairline({mouse.x - arm, mouse.y}, {mouse.x + arm, mouse.y}, ink, frame.u(1.8F));
  hairline({mouse.x, mouse.y - arm}, {mouse.x, mouse.y + arm}, ink, frame.u(1.8F));
  frame.targets.insert_or_assign("words.cross",
                                 Area{mouse.x - arm, mouse.y - arm, 2 * arm, 2 * arm});
  std::vector<std::string> lines{pitch_place_words(plot.y_at(mouse.y), plot.x_at(mouse.x))};
  if (const auto near = nearest_point(plot, tones, mouse)) {
    const float ring = frame.u(7);
    ImGui::GetWindowDrawList()->AddCircle(near->at, ring, ink, 0, frame.u(1.6F));
    frame.targets.insert_or_assign("words.nearest",
                                   Area{near->at.x - ring, near->at.y - ring, 2 * ring, 2 * ring});
    lines.push_back("nearest, " + near->tone->id + ": " +
                    point_words(near->tone->track[near->index]));
    if (touched.pressed && near->away < frame.u(24))
      frame.wish(PickTrackPoint{near->tone->id, near->index});
  }
  put_tag(frame, plot.box, {mouse.x + frame.u(14), mouse.y - frame.u(10)}, lines, ink);
}

void put_pitch_plot(Frame& frame, const Area& area, const Analysis& analysis,
                    const ToneResult& tone) {
  const Interval rpm = speeds_of(analysis);
  const double top = 1.18 * tone.frequency_hz.high;
  const bool told = !is_answer_hidden(frame.state);
  Area room = area;
  const Area names = room.take_right(told ? law_names_width(frame, tone) : 0);
  const Plot plot = begin_plot(frame, room, {"Engine speed", "rpm", rpm.low, rpm.high, false},
                               {"Pitch", "Hz", 0.0, top, false});
  const Touch touched = touch(frame, kPitchName, plot.box);
  const bool by_keys = frame.walk.is_reached(kPitchName);
  const ImU32 colour = tone_colour(frame, tone.id);
  const auto tones = tones_shown(analysis, tone);
  for (const ToneResult* const other : tones)
    if (other != &tone) put_points(frame, plot, *other, tone_colour(frame, other->id), false);
  if (told) {
    const InsidePlot inside(plot);
    put_law_curves(frame, plot, tone, colour);
  }
  put_points(frame, plot, tone, colour, true);
  if (told)
    put_law_names(frame, plot, {plot.box.right(), area.y, names.right() - plot.box.right(), area.h},
                  tone, colour);
  {
    const InsidePlot inside(plot);
    // A class that is still to find the order reads it where somebody asks for it.
    if (by_keys || told) put_point_at_cursor(frame, plot, tone, by_keys || !touched.over);
    // What is walked to by keys is read there, though the mouse may lie in the plot.
    if (touched.over && !by_keys) read_under_mouse(frame, plot, tones, touched);
  }
}

/// What the most is told by comes first; what has no room is told by the laws too.
void put_figures(Frame& frame, Area area, const ToneResult& tone) {
  const Fonts& fonts = frame.look.fonts;
  const float height = line_height(fonts.body);
  const auto say = [&](std::string_view name, const std::string& value) {
    if (area.h < height - 0.5F) return;
    Area row = area.take_top(height);
    put_line(fonts.note, row.take_left(row.w * 0.36F), frame.theme().quiet, name);
    put_line(fonts.body, row, frame.theme().ink, typeset(value), Side::right);
  };
  say("behaviour", behaviour_text(tone));
  say("heard over", fmt::format("{} rpm", span_text(tone.rpm_span, 0)));
  say("exponent", tone.pitch_exponent_ci95 ? fmt::format("{:.3f}  ({})", *tone.pitch_exponent,
                                                         span_text(*tone.pitch_exponent_ci95, 3))
                                           : std::string("not known"));
  say("order", tone.order_ci95
                   ? fmt::format("{:.3f}  ({})", *tone.order, span_text(*tone.order_ci95, 3))
                   : std::string("not known"));
}

void put_laws(Frame& frame, const Area& area, const ToneResult& tone) {
  if (tone.laws.empty())
    return nothing_to_show(frame, area, "Heard at too few speeds to compare laws.");
  put_law_rows(frame, area, tone);
}

void put_plot_card(Frame& frame, const Area& area, const ToneResult& tone) {
  const Area plot = card(frame, area, fmt::format("{}: {}", tone.id, tone_words(tone)),
                         "bands: 95 % of where each law lies");
  put_pitch_plot(frame, plot, *frame.state.analysis(), tone);
}

void put_explanation(Frame& frame, const Area& area, const ToneResult& tone) {
  Area laws = card(frame, area, "What explains it", "in brackets: 95 %, if so");
  constexpr float least_for_both = 560;
  if (area.w < frame.u(least_for_both) || tone.laws.empty()) {
    constexpr float most = 4;
    const float line = line_height(frame.look.fonts.body);
    const float spare = laws.h - frame.u(8) - law_rows_height(frame, tone);
    const float lines = std::clamp(std::floor(spare / line), 0.0F, most);
    const Area figures = laws.take_bottom(tone.laws.empty() ? most * line : lines * line,
                                          lines > 0 ? frame.u(8) : 0);
    put_laws(frame, laws, tone);
    return put_figures(frame, figures, tone);
  }
  // Side by side where they would not lie one above the other.
  put_figures(frame, laws.take_right(laws.w * 0.48F, frame.u(2 * kGap)), tone);
  put_laws(frame, laws, tone);
}

/// Lower than this, one part is shown at a time; lower still, what was found is one of them.
constexpr float kLowPitch = 480;
constexpr float kLowestPitch = 400;

}  // namespace

void draw_pitch(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  const std::string& finding = frame.state.answer->finding.what;
  const bool lowest = area.h < frame.u(kLowestPitch);
  if (!lowest) rest.take_top(put_finding(frame, rest, finding), frame.u(kGap));
  const ToneResult* const tone = shown_tone(frame.state);
  if (tone == nullptr) return nothing_to_show(frame, card(frame, rest, ""), "No tone stands out.");
  if (area.h < frame.u(kLowPitch)) {
    constexpr std::array<std::string_view, 4> names{"Pitch", "What explains it", "Tones",
                                                    "In words"};
    const std::size_t shown =
        put_parts_in_turn(frame, rest, std::span(names).first(lowest ? 4 : 3));
    if (shown == 0) return put_plot_card(frame, rest, *tone);
    if (shown == 1) return put_explanation(frame, rest, *tone);
    if (shown == 2) return put_tones(frame, rest);
    return put_in_words(frame, rest, finding);
  }
  const Area lower = rest.take_bottom(std::clamp(rest.h * 0.36F, frame.u(130), frame.u(400)), 0);
  rest.h -= frame.u(kGap);
  put_explanation(frame, rest.take_right(std::max(frame.u(352), rest.w * 0.33F), frame.u(kGap)),
                  *tone);
  put_plot_card(frame, rest, *tone);
  put_tones(frame, lower);
}

void draw_pitch_unanswered(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  const ToneResult* const tone = shown_tone(frame.state);
  if (tone == nullptr) return nothing_to_show(frame, card(frame, area, ""), "No tone stands out.");
  put_pitch_plot(frame, card(frame, area, "The pitch of the howl", "points as measured"),
                 *frame.state.analysis(), *tone);
}

}  // namespace howl::desk
