#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "src/report/scale.h"
#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/band_tools.h"
#include "ui/panels/parts.h"
#include "ui/panels/sound_panels.h"
#include "ui/pictures/sound_store.h"
#include "ui/state/desk.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

double spectrum_db(double power) { return 10.0 * std::log10(std::max(2.0 * power, 1e-16)); }

constexpr std::string_view kSpectrumName = "sound.spectrum";

struct Curve {
  std::string label;
  const PowerSpectrum* spectrum{};
  ImU32 colour{};
};

std::vector<PlotPoint> points_within(const PowerSpectrum& spectrum, const Interval& shown) {
  std::vector<PlotPoint> points;
  if (spectrum.power.empty()) return points;
  const auto first =
      static_cast<std::size_t>(std::max(1.0, std::floor(shown.low / spectrum.spacing)));
  const auto last =
      std::min(spectrum.power.size(), static_cast<std::size_t>(shown.high / spectrum.spacing) + 2);
  for (std::size_t k = first; k < last; ++k)
    points.push_back({spectrum.position(k), spectrum_db(spectrum.power[k])});
  return points;
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

void put_legend(Frame& frame, Area area, std::span<const Curve> curves) {
  if (curves.size() < 2) return;
  for (const Curve& curve : curves) {
    const float width = text_width(frame.look.fonts.note, curve.label) + frame.u(40);
    Area entry = area.take_left(width);
    const float y = entry.y + entry.h / 2;
    const Area line = entry.take_left(frame.u(18), frame.u(6));
    hairline({line.x, y}, {line.right(), y}, curve.colour, frame.u(2.4F));
    put_line(frame.look.fonts.note, entry, frame.theme().ink, curve.label);
  }
}

std::vector<Curve> curves_of(const Frame& frame, const TakeSound& sound,
                             std::vector<std::shared_ptr<const TakeSound>>& kept) {
  const auto& series = frame.theme().series;
  std::vector<Curve> curves{{sound.id + " " + sound.point, &sound.spectrum, series[0]}};
  for (const std::string& id : frame.state.view.compared) {
    auto other = frame.sounds.find(id);
    if (!other || other->id == sound.id || curves.size() >= series.size()) continue;
    curves.push_back({other->id + " " + other->point, &other->spectrum, series.at(curves.size())});
    kept.push_back(std::move(other));
  }
  return curves;
}

/// Level of each curve at the cursor, side by side.
std::string levels_at(std::span<const Curve> curves, double hz) {
  std::string words;
  for (const Curve& curve : curves) {
    const auto line = static_cast<std::size_t>(std::lround(hz / curve.spectrum->spacing));
    if (line >= curve.spectrum->power.size()) continue;
    words += fmt::format("{}{} dB", words.empty() ? "" : " / ",
                         picture::format_number(spectrum_db(curve.spectrum->power[line]), 1));
  }
  return words;
}

/// Of a take whose speed is one; none with the engine off.
std::optional<double> steady_rpm(const TakeSound& sound) {
  if (sound.engine_off) return std::nullopt;
  const auto range = sound.speed.range(Seconds(0), Seconds(sound.seconds));
  if (range.high.value >= 1.06 * range.low.value) return std::nullopt;
  return 0.5 * (range.low + range.high).value;
}

std::string reading(const TakeSound& sound, std::span<const Curve> curves, double hz) {
  std::string words = fmt::format("{:.1f} Hz", hz);
  if (const auto rpm = steady_rpm(sound))
    words += fmt::format(" · order {:.2f} · {:.0f} rpm", 60 * hz / *rpm, *rpm);
  return words + " · " + levels_at(curves, hz);
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

}  // namespace

void put_spectra(Frame& frame, const Area& area, const TakeSound& sound) {
  std::vector<std::shared_ptr<const TakeSound>> kept;
  const std::vector<Curve> curves = curves_of(frame, sound, kept);
  const Interval shown = shown_frequencies(frame, sound);
  std::vector<std::vector<PlotPoint>> points;
  for (const Curve& curve : curves) points.push_back(points_within(*curve.spectrum, shown));
  const Interval levels = level_range_of(points);
  Area rest = area;
  if (curves.size() > 1) put_legend(frame, rest.take_top(frame.u(22)), curves);
  const Plot plot = begin_plot(frame, rest, {"Frequency", "Hz", shown.low, shown.high, false},
                               {"Level", "dB re full-scale sine", levels.low, levels.high, false});
  act_on_spectrum(frame, plot, sound, shown);
  const InsidePlot inside(plot);
  put_bands(frame, plot, sound);
  for (std::size_t i = curves.size(); i-- > 0;)
    put_curve(plot, points[i], faded(curves[i].colour, i == 0 ? 1 : 0.8F), frame.u(1.4F));
  put_marks(frame, plot, sound, points.front());
  const auto cursor = frame.state.view.sound.cursor_hz;
  if (!cursor || !shown.contains(*cursor)) return;
  const float x = plot.at(*cursor, levels.low).x;
  hairline({x, plot.box.y}, {x, plot.box.bottom()}, faded(frame.theme().ink, 0.7F));
  put_tag(frame, plot.box, {x + frame.u(8), plot.box.y + frame.u(24)},
          reading(sound, curves, *cursor), frame.theme().ink);
}

}  // namespace howl::desk
