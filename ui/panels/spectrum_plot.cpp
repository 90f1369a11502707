#include "ui/panels/spectrum_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "dsp/level_change.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/shown_sound.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

/// First and last line of a spectrum that lie about what is shown.
std::pair<std::size_t, std::size_t> lines_within(double spacing, std::size_t lines,
                                                 const Interval& shown) {
  const auto first = static_cast<std::size_t>(std::max(1.0, std::floor(shown.low / spacing)));
  return {first, std::min(lines, static_cast<std::size_t>(shown.high / spacing) + 2)};
}

std::vector<PlotPoint> points_within(const PowerSpectrum& spectrum, const Interval& shown) {
  std::vector<PlotPoint> points;
  const auto [first, last] = lines_within(spectrum.spacing, spectrum.power.size(), shown);
  for (std::size_t k = first; k < last; ++k)
    points.push_back({spectrum.position(k), spectrum_level_db(spectrum.power[k])});
  return points;
}

std::vector<PlotPoint> difference_within(const SpectrumDifference& difference,
                                         const Interval& shown) {
  std::vector<PlotPoint> points;
  const auto [first, last] = lines_within(difference.spacing(), difference.lines(), shown);
  for (std::size_t k = first; k < last; ++k)
    points.push_back({difference.spacing() * static_cast<double>(k),
                      difference.db(k).value_or(std::numeric_limits<double>::quiet_NaN())});
  return points;
}

SpectrumCurves curves_of(const ShownSpectra& shown) {
  SpectrumCurves curves;
  const PowerSpectrum& first = *shown.spectra.front().spectrum;
  for (const NamedSpectrum& each : shown.spectra)
    if (!shown.difference)
      curves.push_back(points_within(*each.spectrum, shown.range));
    else if (&each != &shown.spectra.front())
      curves.push_back(difference_within(SpectrumDifference(first, *each.spectrum), shown.range));
  return curves;
}

/// As far below zero as above.
Interval difference_range_of(const SpectrumCurves& curves) {
  double most = 12;
  for (const auto& curve : curves)
    for (const PlotPoint& point : curve)
      if (std::isfinite(point.y)) most = std::max(most, std::abs(point.y));
  most = std::min(most, 60.0) + 2;
  return {-most, most};
}

Interval level_range_of(const SpectrumCurves& curves) {
  double low = 0;
  double high = -160;
  for (const auto& curve : curves)
    for (const PlotPoint& point : curve) {
      low = std::min(low, point.y);
      high = std::max(high, point.y);
    }
  if (high < low) return {-120, 0};
  return {std::max(low, high - 80), high + 6};
}

double unexplained_db(const ShownSpectra& shown) {
  return unexplained_difference_db(*shown.spectra[0].spectrum, *shown.spectra[1].spectrum,
                                   ChangeParameters{}.expected_repeat_sd_db);
}

std::string legend_of(const ShownSpectra& shown, const NamedSpectrum& each) {
  const NamedSpectrum& first = shown.spectra.front();
  if (!shown.difference) return each.take + " " + each.point;
  const std::string name = difference_name(first, each);
  if (first.point == each.point) return name + ", both " + each.point;
  return name + ", " + first.point + " less " + each.point;
}

std::string short_legend_of(const ShownSpectra& shown, const NamedSpectrum& each) {
  return shown.difference ? difference_name(shown.spectra.front(), each) : each.take;
}

std::vector<std::string> legends_of(const ShownSpectra& shown, bool in_full) {
  std::vector<std::string> labels;
  for (std::size_t i = shown.difference ? 1 : 0; i < shown.spectra.size(); ++i)
    labels.push_back(in_full ? legend_of(shown, shown.spectra[i])
                             : short_legend_of(shown, shown.spectra[i]));
  return labels;
}

/// Without the points where they have no room, so that none of the spectra stays unnamed.
void put_legend(Frame& frame, Area& area, const ShownSpectra& shown) {
  ImFont* const font = frame.look.fonts.note;
  const auto width_of = [&](const std::string& label) {
    return text_width(font, label) + frame.u(40);
  };
  std::vector<std::string> labels = legends_of(shown, true);
  float width = 0;
  for (const std::string& label : labels) width += width_of(label);
  if (width > area.w + frame.u(16)) labels = legends_of(shown, false);
  const std::size_t skipped = shown.difference ? 1 : 0;
  for (std::size_t i = skipped; i < shown.spectra.size(); ++i) {
    const std::string& label = labels[i - skipped];
    Area entry = area.take_left(width_of(label));
    const float y = entry.y + entry.h / 2;
    const Area line = entry.take_left(frame.u(18), frame.u(6));
    hairline({line.x, y}, {line.right(), y}, shown.colours[i], frame.u(2.4F));
    put_line(font, entry, frame.theme().ink, label);
  }
}

/// What there is to say where several are shown, and which way they are.
void put_legend_and_ways(Frame& frame, Area area, const ShownSpectra& shown) {
  constexpr std::array<std::string_view, 2> ways{"Overlaid", "Difference"};
  constexpr std::array<std::string_view, 2> axes{"Hz", "Orders"};
  if (shown.offers_axis) {
    const Area over = area.take_right(frame.u(150), frame.u(10));
    if (const auto chosen =
            choice(frame, std::string(shown.name) + ".over", over, axes, shown.orders ? 1 : 0))
      frame.wish(ShowSpectrumOver{*chosen == 1});
  }
  if (shown.spectra.size() < 2) return put_legend(frame, area, shown);
  const Area place = area.take_right(frame.u(212), frame.u(10));
  if (const auto chosen =
          choice(frame, std::string(shown.name) + ".way", place, ways, shown.difference ? 1 : 0))
    frame.wish(ShowDifference{*chosen == 1});
  put_legend(frame, area, shown);
  if (!shown.difference) return;
  std::string words =
      fmt::format("grey: up to {:.0f} dB, hand and probe alone", unexplained_db(shown));
  const SpectrumDifference difference(*shown.spectra[0].spectrum, *shown.spectra[1].spectrum);
  if (shown.spectra[0].spectrum->spacing != shown.spectra[1].spectrum->spacing)
    words += shown.orders ? std::string()
                          : fmt::format("; levels in {:.0f} Hz", difference.resolution());
  ImFont* const font = frame.look.fonts.note;
  if (text_width(font, words) > area.w)
    words = fmt::format("grey: up to {:.0f} dB", unexplained_db(shown));
  if (text_width(font, words) <= area.w)
    put_line(font, area, frame.theme().quiet, words, Side::right);
}

/// The zero line, and about it what two settings of one probe at one point may differ by.
void put_zero(Frame& frame, const Plot& plot, const ShownSpectra& shown) {
  const float top = plot.at(plot.x.low, unexplained_db(shown)).y;
  const float zero = plot.at(plot.x.low, 0).y;
  fill({plot.box.x, top, plot.box.w, 2 * (zero - top)}, faded(frame.theme().quiet, 0.16F));
  hairline({plot.box.x, zero}, {plot.box.right(), zero}, frame.theme().ink, frame.u(1.2F));
}

void move_by_mouse(Frame& frame, const Plot& plot, const Touch& touched,
                   const ShownSpectra& shown) {
  const ImGuiIO& io = ImGui::GetIO();
  const PowerSpectrum& first = *shown.spectra.front().spectrum;
  const double whole = first.position(std::max<std::size_t>(first.power.size(), 2) - 1);
  SoundView view = frame.state.view.sound;
  if (touched.over && frame.mouse_moved) {
    const double at = plot.x_at(io.MousePos.x);
    if (!shown.orders) view.cursor_hz = at;
    if (shown.orders && shown.rpm) view.cursor_hz = at * *shown.rpm / 60;
  }
  if (touched.over && io.MouseWheel != 0)
    set_rows(view, shown.orders,
             zoomed(shown.range, std::pow(0.8, static_cast<double>(io.MouseWheel)),
                    plot.x_at(io.MousePos.x), shown.orders ? kNearestOrders : kNearestFrequencies,
                    whole));
  if (touched.held && io.MouseDelta.x != 0) {
    const double by = -static_cast<double>(io.MouseDelta.x / plot.box.w) * shown.range.width();
    set_rows(view, shown.orders, kept_inside({shown.range.low + by, shown.range.high + by}, whole));
  }
  if (view != frame.state.view.sound) frame.wish(SetSound{view});
}

std::string place_words(const ShownSpectra& shown, double hz) {
  std::string words = fmt::format("{:.1f} Hz", hz);
  if (shown.rpm)
    words += fmt::format(" · order {:.2f} · {:.0f} rpm", 60 * hz / *shown.rpm, *shown.rpm);
  return words;
}

/// The cursor's place on the axis; none where the speed that this takes is not known.
std::optional<double> cursor_on_axis(const Frame& frame, const ShownSpectra& shown) {
  const auto hz = frame.state.view.sound.cursor_hz;
  if (!shown.orders || !hz) return hz;
  return shown.rpm ? std::optional(60 * *hz / *shown.rpm) : std::nullopt;
}

void put_reading(Frame& frame, const Plot& plot, const ShownSpectra& shown) {
  const auto cursor = cursor_on_axis(frame, shown);
  if (!cursor || !shown.range.contains(*cursor)) return;
  const float x = plot.at(*cursor, plot.y.low).x;
  hairline({x, plot.box.y}, {x, plot.box.bottom()}, faded(frame.theme().ink, 0.7F));
  const std::string place = place_words(shown, *frame.state.view.sound.cursor_hz);
  const std::string levels = levels_at(shown.spectra, *cursor, shown.difference);
  const std::string all = place + " · " + levels;
  const auto tag = [&](const std::string& words, float down) {
    put_tag(frame, plot.box, {x + frame.u(8), plot.box.y + frame.u(down)}, words,
            frame.theme().ink);
  };
  const bool fits = text_width(frame.look.fonts.label, all) + frame.u(10) < plot.box.w;
  const bool remark = shown.spectra.size() > 1 && !shown.orders;  // at the top
  if (fits) return tag(all, remark ? 44 : 20);
  tag(place, 22);
  tag(levels, 44);
}

}  // namespace

void put_spectrum_plot(Frame& frame, const Area& area, const ShownSpectra& shown,
                       const SpectrumMarks& marks) {
  const SpectrumCurves curves = curves_of(shown);
  const Interval levels = shown.difference ? difference_range_of(curves) : level_range_of(curves);
  Area rest = area;
  // A single one that is low keeps its height.
  if (shown.spectra.size() > 1 || (shown.offers_axis && area.h > frame.u(220)))
    put_legend_and_ways(frame, rest.take_top(frame.u(kTouch), frame.u(2)), shown);
  const Plot plot = begin_plot(
      frame, rest,
      {shown.orders ? "Order" : "Frequency", shown.orders ? "" : "Hz", shown.range.low,
       shown.range.high, false},
      {shown.difference ? "Difference" : "Level", shown.difference ? "dB" : "dB re full-scale sine",
       levels.low, levels.high, false});
  const Touch touched = is_plot(shown.name) ? touch(frame, shown.name, plot.box)
                                            : touch_place(frame, shown.name, plot.box);
  if (!marks.takes_mouse || !marks.takes_mouse(plot, touched))
    move_by_mouse(frame, plot, touched, shown);
  const InsidePlot inside(plot);
  if (marks.under) marks.under(plot);
  if (shown.difference) put_zero(frame, plot, shown);
  const std::size_t skipped = shown.difference ? 1 : 0;
  for (std::size_t i = curves.size(); i-- > 0;)
    put_curve(plot, curves[i], faded(shown.colours[i + skipped], i == 0 ? 1 : 0.8F), frame.u(1.4F));
  if (marks.over) marks.over(plot, curves);
  if (shown.spectra.size() > 1 && !shown.orders)
    if (const std::string words = unlike_words(shown.spectra); !words.empty())
      put_tag(frame, plot.box, {plot.box.right(), plot.box.y}, words, frame.theme().warn);
  put_reading(frame, plot, shown);
}

}  // namespace howl::desk
