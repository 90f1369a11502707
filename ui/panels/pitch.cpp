#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "src/percent_text.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/style.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/track_moves.h"

namespace howl::desk {
namespace {

/// Shown beside the picked one, faintly, for comparison.
constexpr std::size_t kMostTracks = 8;
constexpr double kLeastWeight = 0.02;

double frequency_by(const FittedLaw& law, double rpm) {
  return law.frequency_at_reference_hz * std::pow(rpm / law.reference_rpm, law.exponent);
}

std::vector<PlotPoint> law_curve(const FittedLaw& law, const Interval& rpm) {
  std::vector<PlotPoint> points;
  constexpr int steps = 60;
  for (int i = 0; i <= steps; ++i) {
    const double n = rpm.low + rpm.width() * i / steps;
    points.push_back({n, frequency_by(law, n)});
  }
  return points;
}

Interval speeds_of(const Analysis& analysis) {
  Interval rpm{1e9, 0};
  for (const TakeResult& take : analysis.takes)
    if (!take.engine_off) rpm = {std::min(rpm.low, take.rpm_min), std::max(rpm.high, take.rpm_max)};
  if (rpm.low > rpm.high) return {0, 4000};
  const double room = std::max(60.0, 0.06 * rpm.width());
  return {std::max(0.0, rpm.low - room), rpm.high + room};
}

void put_law(Frame& frame, const Plot& plot, const FittedLaw& law, const Interval& rpm,
             ImU32 colour) {
  std::vector<float> dash;
  for (const double length : picture::law_dash(law.name))
    dash.push_back(frame.u(static_cast<float>(length)));
  const float strength = 0.3F + 0.7F * static_cast<float>(law.weight);
  put_dashed(plot, law_curve(law, rpm), faded(colour, strength),
             frame.u(law.weight > 0.5 ? 2 : 1.3F), dash);
}

/// The order's 95 % interval as a band.
void put_order_band(const Plot& plot, const ToneResult& tone, const Interval& rpm, ImU32 colour) {
  if (!tone.order_ci95) return;
  const auto corner = [&](double n, double order) { return plot.at(n, order * n / 60.0); };
  const std::array<ImVec2, 4> corners{
      corner(rpm.low, tone.order_ci95->low), corner(rpm.high, tone.order_ci95->low),
      corner(rpm.high, tone.order_ci95->high), corner(rpm.low, tone.order_ci95->high)};
  ImGui::GetWindowDrawList()->AddConvexPolyFilled(corners.data(), 4, faded(colour, 0.18F));
}

void put_laws_of(Frame& frame, const Plot& plot, const ToneResult& tone, const Interval& rpm,
                 ImU32 colour) {
  put_order_band(plot, tone, rpm, colour);
  for (const FittedLaw& law : tone.laws)
    if (law.weight >= kLeastWeight && law.name != "road") put_law(frame, plot, law, rpm, colour);
}

void put_points(Frame& frame, const Plot& plot, const ToneResult& tone, ImU32 colour, bool lit) {
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const auto& take = frame.state.view.selection.take;
  for (const TrackPoint& point : tone.track) {
    const ImVec2 at = plot.at(point.rpm, point.frequency_hz);
    if (!std::isfinite(at.x + at.y)) continue;
    const bool of_take = lit && take == point.take;
    list.AddCircleFilled(at, frame.u(lit ? 3.6F : 2.2F), faded(colour, lit ? 0.9F : 0.4F));
    if (of_take) list.AddCircle(at, frame.u(5.5F), frame.theme().accent, 0, frame.u(1.5F));
    if (!lit) continue;
    const float low = plot.at(point.rpm, point.frequency_hz - 2 * point.sigma_hz).y;
    const float high = plot.at(point.rpm, point.frequency_hz + 2 * point.sigma_hz).y;
    if (low - high > frame.u(5))
      hairline({at.x, low}, {at.x, high}, faded(colour, 0.6F), frame.u(1.2F));
  }
}

std::optional<PickTrackPoint> nearest_point(const Plot& plot, const Analysis& analysis,
                                            ImVec2 mouse, float reach) {
  std::optional<PickTrackPoint> best;
  float least = reach;
  for (const ToneResult& tone : analysis.tones)
    for (std::size_t i = 0; i < tone.track.size(); ++i) {
      const ImVec2 at = plot.at(tone.track[i].rpm, tone.track[i].frequency_hz);
      const float away = std::hypot(at.x - mouse.x, at.y - mouse.y);
      if (!(away < least)) continue;
      least = away;
      best = PickTrackPoint{tone.id, i};
    }
  return best;
}

std::string speed_and_pitch(double hz, double rpm) {
  return fmt::format("{:.0f} Hz · {:.0f} rpm · order {:.2f}", hz, rpm, 60 * hz / rpm);
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
          fmt::format("{} · {} at {:.2f} s", speed_and_pitch(point.frequency_hz, point.rpm),
                      point.take, point.time_s),
          ink);
}

/// What the mouse does in the plot, and what is read under it.
void read_under_mouse(Frame& frame, const Plot& plot, const Analysis& analysis,
                      const Touch& touched) {
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  put_tag(frame, plot.box, {mouse.x + frame.u(14), mouse.y - frame.u(6)},
          speed_and_pitch(plot.y_at(mouse.y), plot.x_at(mouse.x)), frame.theme().ink);
  if (!touched.pressed) return;
  if (const auto near = nearest_point(plot, analysis, mouse, frame.u(24))) frame.wish(*near);
}

void put_pitch_plot(Frame& frame, const Area& area, const Analysis& analysis,
                    const ToneResult& tone) {
  const Interval rpm = speeds_of(analysis);
  const double top = 1.18 * tone.frequency_hz.high;
  const Plot plot = begin_plot(frame, area, {"Engine speed", "rpm", rpm.low, rpm.high, false},
                               {"Pitch", "Hz", 0.0, top, false});
  const Touch touched = touch(frame, kPitchName, plot.box);
  const bool by_keys = frame.walk.is_reached(kPitchName);
  const ImU32 colour = tone_colour(frame, tone.id);
  {
    const InsidePlot inside(plot);
    std::size_t others = 0;
    for (const ToneResult& other : analysis.tones)
      if (other.id != tone.id && others++ < kMostTracks)
        put_points(frame, plot, other, tone_colour(frame, other.id), false);
    if (!is_answer_hidden(frame.state)) put_laws_of(frame, plot, tone, rpm, colour);
    put_points(frame, plot, tone, colour, true);
    // A class that is still to find the order reads it where somebody asks for it.
    if (by_keys || !is_answer_hidden(frame.state))
      put_point_at_cursor(frame, plot, tone, by_keys || !touched.over);
  }
  // What is walked to by keys is read there, though the mouse may lie in the plot.
  if (touched.over && !by_keys) read_under_mouse(frame, plot, analysis, touched);
}

void put_laws(Frame& frame, Area area, const ToneResult& tone) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  if (tone.laws.empty())
    return nothing_to_show(frame, area, "Heard at too few speeds to compare laws.");
  for (const FittedLaw& law : tone.laws) {
    if (area.h < frame.u(34)) break;
    Area row = area.take_top(frame.u(36), frame.u(2));
    put_line(fonts.strong, row.take_right(frame.u(58)), theme.ink, percent_text(law.weight),
             Side::right);
    put_line(law.weight > 0.5 ? fonts.strong : fonts.body, row.take_top(frame.u(24)), theme.ink,
             law_words(law.name));
    put_meter({row.x, row.y + frame.u(2), row.w - frame.u(8), frame.u(4)},
              static_cast<float>(law.weight), tone_colour(frame, tone.id), faded(theme.grid, 0.8F));
  }
}

void put_figures(Frame& frame, Area area, const ToneResult& tone) {
  const Fonts& fonts = frame.look.fonts;
  const auto say = [&](std::string_view name, const std::string& value) {
    Area row = area.take_top(line_height(fonts.body));
    put_line(fonts.note, row.take_left(row.w * 0.36F), frame.theme().quiet, name);
    put_line(fonts.body, row, frame.theme().ink, typeset(value), Side::right);
  };
  say("behaviour", behaviour_text(tone));
  say("order", tone.order_ci95
                   ? fmt::format("{:.3f}  ({})", *tone.order, span_text(*tone.order_ci95, 3))
                   : std::string("not known"));
  say("exponent", tone.pitch_exponent_ci95 ? fmt::format("{:.3f}  ({})", *tone.pitch_exponent,
                                                         span_text(*tone.pitch_exponent_ci95, 3))
                                           : std::string("not known"));
  say("heard over", fmt::format("{} rpm", span_text(tone.rpm_span, 0)));
}

void put_plot_card(Frame& frame, const Area& area, const ToneResult& tone) {
  const Area plot = card(frame, area, fmt::format("{}: {}", tone.id, tone_words(tone)),
                         "points as measured, lines as each law predicts");
  put_pitch_plot(frame, plot, *frame.state.analysis(), tone);
}

void put_explanation(Frame& frame, const Area& area, const ToneResult& tone) {
  Area laws = card(frame, area, "What explains it");
  constexpr float least_for_both = 560;
  if (area.w < frame.u(least_for_both) || tone.laws.empty()) {
    const Area figures = laws.take_bottom(line_height(frame.look.fonts.body) * 4, frame.u(8));
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
  const Area lower = rest.take_bottom(std::clamp(rest.h * 0.38F, frame.u(130), frame.u(400)), 0);
  rest.h -= frame.u(kGap);
  put_explanation(frame, rest.take_right(std::max(frame.u(330), rest.w * 0.33F), frame.u(kGap)),
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
