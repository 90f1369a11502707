#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "dsp/level_change.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/band_tools.h"
#include "ui/panels/parts.h"
#include "ui/panels/sound_panels.h"
#include "ui/pictures/sound_store.h"
#include "ui/pictures/spectra.h"
#include "ui/state/desk.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

constexpr std::string_view kSpectrumName = "sound.spectrum";

/// Curves that are shown, first that of the picked take.
struct Shown {
  std::vector<std::shared_ptr<const TakeSound>> kept;
  std::vector<NamedSpectrum> spectra;
  std::vector<ImU32> colours;
  bool difference{};
};

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

/// As far below zero as above.
Interval difference_range_of(std::span<const std::vector<PlotPoint>> curves) {
  double most = 12;
  for (const auto& curve : curves)
    for (const PlotPoint& point : curve)
      if (std::isfinite(point.y)) most = std::max(most, std::abs(point.y));
  most = std::min(most, 60.0) + 2;
  return {-most, most};
}

Interval level_range_of(std::span<const std::vector<PlotPoint>> curves) {
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

void put_marks(Frame& frame, const Plot& plot, const TakeSound& sound,
               std::span<const PlotPoint> curve) {
  const Analysis* const analysis = frame.state.analysis();
  const TakeResult* const take = analysis ? find_take(*analysis, sound.id) : nullptr;
  if (take == nullptr || take->rpm_max > 1.06 * take->rpm_min || is_answer_hidden(frame.state))
    return;
  for (const ToneResult& tone : analysis->tones) {
    const auto at = std::ranges::find(tone.track, sound.id, &TrackPoint::take);
    if (at == tone.track.end()) continue;
    double level = -200;
    for (const PlotPoint& point : curve)
      if (std::abs(point.x - at->frequency_hz) < 0.01 * at->frequency_hz + 3)
        level = std::max(level, point.y);
    const ImVec2 place = plot.at(at->frequency_hz, level);
    if (!plot.box.contains(place)) continue;
    const bool lit = is_lit_tone(frame, tone.id);
    const ImU32 colour = lit ? frame.theme().accent : tone_colour(frame, tone.id);
    ImGui::GetWindowDrawList()->AddCircleFilled({place.x, place.y - frame.u(5)},
                                                frame.u(lit ? 4.5F : 3), colour);
    if (lit)
      put_tag(frame, plot.box, {place.x + frame.u(7), place.y - frame.u(4)}, tone_words(tone),
              colour);
  }
}

void put_legend(Frame& frame, Area area, const Shown& shown) {
  for (std::size_t i = shown.difference ? 1 : 0; i < shown.spectra.size(); ++i) {
    const NamedSpectrum& each = shown.spectra[i];
    const std::string label = shown.difference
                                  ? difference_name(shown.spectra.front(), each) + ", " +
                                        shown.spectra.front().point + " less " + each.point
                                  : each.take + " " + each.point;
    Area entry = area.take_left(text_width(frame.look.fonts.note, label) + frame.u(40));
    const float y = entry.y + entry.h / 2;
    const Area line = entry.take_left(frame.u(18), frame.u(6));
    hairline({line.x, y}, {line.right(), y}, shown.colours[i], frame.u(2.4F));
    put_line(frame.look.fonts.note, entry, frame.theme().ink, label);
  }
}

/// What there is to say where several are shown, and which way they are.
void put_head(Frame& frame, Area area, const Shown& shown) {
  constexpr std::array<std::string_view, 2> ways{"Overlaid", "Difference"};
  if (const auto chosen = choice(frame, "sound.spectra", area.take_right(frame.u(212), frame.u(10)),
                                 ways, shown.difference ? 1 : 0))
    frame.wish(ShowDifference{*chosen == 1});
  put_legend(frame, area, shown);
}

/// Of a take whose speed is one; none with the engine off.
std::optional<double> steady_rpm(const TakeSound& sound) {
  if (sound.engine_off) return std::nullopt;
  const auto range = sound.speed.range(Seconds(0), Seconds(sound.seconds));
  if (range.high.value >= 1.06 * range.low.value) return std::nullopt;
  return 0.5 * (range.low + range.high).value;
}

NamedSpectrum named(const TakeSound& sound) {
  return {sound.id, sound.point, &sound.spectrum, steady_rpm(sound)};
}

/// A take has the colour here that it has in the list of takes.
Shown shown_of(const Frame& frame, const TakeSound& sound) {
  const auto& series = frame.theme().series;
  const auto& compared = frame.state.view.compared;
  Shown shown{{}, {named(sound)}, {series[0]}, false};
  for (std::size_t i = 0; i < std::min(compared.size(), series.size() - 1); ++i) {
    auto other = frame.sounds.find(compared[i]);
    if (!other || other->id == sound.id) continue;
    shown.spectra.push_back(named(*other));
    shown.colours.push_back(series.at(i + 1));
    shown.kept.push_back(std::move(other));
  }
  shown.difference = frame.state.view.difference && shown.spectra.size() > 1;
  return shown;
}

std::string reading(const Shown& shown, double hz) {
  std::string words = fmt::format("{:.1f} Hz", hz);
  if (const auto rpm = shown.spectra.front().rpm)
    words += fmt::format(" · order {:.2f} · {:.0f} rpm", 60 * hz / *rpm, *rpm);
  return words + " · " + levels_at(shown.spectra, hz, shown.difference);
}

void act_on_spectrum(Frame& frame, const Plot& plot, const TakeSound& sound,
                     const Interval& shown) {
  const Touch touched = touch_place(frame, kSpectrumName, plot.box);
  const ImGuiIO& io = ImGui::GetIO();
  if (mark_band(frame, touched, kSpectrumName, AnalysisRequest::Band::Unit::hertz,
                plot.x_at(std::clamp(io.MousePos.x, plot.box.x, plot.box.right()))))
    return;
  SoundView view = frame.state.view.sound;
  const double whole = sound.sample_rate / 2;
  if (touched.over) view.cursor_hz = plot.x_at(io.MousePos.x);
  if (touched.over && io.MouseWheel != 0)
    view.frequency_hz =
        zoomed(shown, std::pow(0.8, static_cast<double>(io.MouseWheel)), view.cursor_hz, 20, whole);
  if (touched.held && io.MouseDelta.x != 0) {
    const double by = -static_cast<double>(io.MouseDelta.x / plot.box.w) * shown.width();
    view.frequency_hz = kept_inside({shown.low + by, shown.high + by}, whole);
  }
  if (view != frame.state.view.sound) frame.wish(SetSound{view});
}

/// Where the suspect band lies, in Hz; one in orders has no place in a take whose speed changes.
std::optional<Interval> band_in_hz(const Frame& frame, const TakeSound& sound) {
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr || !analysis->suspect_band || is_answer_hidden(frame.state))
    return std::nullopt;
  const AnalysisRequest::Band& band = analysis->suspect_band->band;
  if (band.unit == AnalysisRequest::Band::Unit::hertz) return band.range;
  const auto rpm = steady_rpm(sound);
  if (!rpm) return std::nullopt;
  return Interval{band.range.low * *rpm / 60, band.range.high * *rpm / 60};
}

void put_bands(Frame& frame, const Plot& plot, const TakeSound& sound) {
  const auto strip = [&](double low, double high) {
    const float from = plot.at(std::max(low, plot.x.low), plot.y.low).x;
    const float to = plot.at(std::min(high, plot.x.high), plot.y.low).x;
    return Area{from, plot.box.y, std::max(0.0F, to - from), plot.box.h};
  };
  if (const auto band = band_in_hz(frame, sound)) {
    const Area area = strip(band->low, band->high);
    fill(area, frame.theme().shade);
    for (const float x : {area.x, area.right()})
      hairline({x, area.y}, {x, area.bottom()}, faded(frame.theme().accent, 0.5F));
  }
  const auto& mark = frame.state.view.marking;
  if (mark && mark->plot == kSpectrumName)
    put_marked_band(frame, plot.box,
                    strip(std::min(mark->from, mark->to), std::max(mark->from, mark->to)));
}

std::vector<std::vector<PlotPoint>> curves_of(const Shown& shown, const Interval& range) {
  std::vector<std::vector<PlotPoint>> curves;
  const PowerSpectrum& first = *shown.spectra.front().spectrum;
  for (const NamedSpectrum& each : shown.spectra)
    if (!shown.difference)
      curves.push_back(points_within(*each.spectrum, range));
    else if (&each != &shown.spectra.front())
      curves.push_back(difference_within(SpectrumDifference(first, *each.spectrum), range));
  return curves;
}

/// The zero line, and about it what two settings of one probe at one point may differ by.
void put_zero(Frame& frame, const Plot& plot, const Shown& shown) {
  const PowerSpectrum& first = *shown.spectra.front().spectrum;
  const PowerSpectrum& second = *shown.spectra[1].spectrum;
  const double reach =
      unexplained_difference_db(first, second, ChangeParameters{}.expected_repeat_sd_db);
  const float top = plot.at(plot.x.low, reach).y;
  const float zero = plot.at(plot.x.low, 0).y;
  fill({plot.box.x, top, plot.box.w, 2 * (zero - top)}, faded(frame.theme().quiet, 0.16F));
  hairline({plot.box.x, zero}, {plot.box.right(), zero}, frame.theme().ink, frame.u(1.2F));
  std::string words =
      fmt::format("grey: within {:.0f} dB hand and probe alone may explain it", reach);
  const SpectrumDifference difference(first, second);
  if (first.spacing != second.spacing)
    words += fmt::format("; levels in {:.0f} Hz", difference.resolution());
  put_tag(frame, plot.box, {plot.box.x + frame.u(6), plot.box.bottom()}, words,
          frame.theme().quiet);
}

void put_curves(Frame& frame, const Plot& plot, const Shown& shown,
                std::span<const std::vector<PlotPoint>> curves) {
  const std::size_t skipped = shown.difference ? 1 : 0;
  for (std::size_t i = curves.size(); i-- > 0;)
    put_curve(plot, curves[i], faded(shown.colours[i + skipped], i == 0 ? 1 : 0.8F), frame.u(1.4F));
}

}  // namespace

void put_spectra(Frame& frame, const Area& area, const TakeSound& sound) {
  const Shown shown = shown_of(frame, sound);
  const Interval range = shown_frequencies(frame, sound);
  const auto curves = curves_of(shown, range);
  const Interval levels = shown.difference ? difference_range_of(curves) : level_range_of(curves);
  Area rest = area;
  if (shown.spectra.size() > 1) put_head(frame, rest.take_top(frame.u(kTouch), frame.u(2)), shown);
  const Plot plot = begin_plot(
      frame, rest, {"Frequency", "Hz", range.low, range.high, false},
      {shown.difference ? "Difference" : "Level", shown.difference ? "dB" : "dB re full-scale sine",
       levels.low, levels.high, false});
  act_on_spectrum(frame, plot, sound, range);
  const InsidePlot inside(plot);
  put_bands(frame, plot, sound);
  if (shown.difference) put_zero(frame, plot, shown);
  put_curves(frame, plot, shown, curves);
  if (!shown.difference) put_marks(frame, plot, sound, curves.front());
  if (shown.spectra.size() > 1)
    if (const std::string words = unlike_words(shown.spectra); !words.empty())
      put_tag(frame, plot.box, {plot.box.right(), plot.box.y}, words, frame.theme().warn);
  const auto cursor = frame.state.view.sound.cursor_hz;
  if (!cursor || !range.contains(*cursor)) return;
  const float x = plot.at(*cursor, levels.low).x;
  hairline({x, plot.box.y}, {x, plot.box.bottom()}, faded(frame.theme().ink, 0.7F));
  put_tag(frame, plot.box, {x + frame.u(8), plot.box.y + frame.u(44)}, reading(shown, *cursor),
          frame.theme().ink);
}

}  // namespace howl::desk
