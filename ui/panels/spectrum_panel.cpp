#include <algorithm>
#include <cmath>
#include <utility>

#include "ui/look/plot.h"
#include "ui/look/widgets.h"
#include "ui/panels/band_tools.h"
#include "ui/panels/parts.h"
#include "ui/panels/sound_panels.h"
#include "ui/panels/spectrum_plot.h"
#include "ui/pictures/sound_store.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/shown_sound.h"

namespace howl::desk {
namespace {

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

std::optional<double> rpm_of(const TakeSound& sound) {
  return sound.engine_off ? std::nullopt : steady_rpm(sound.speed, sound.seconds);
}

NamedSpectrum named(const TakeSound& sound) {
  return {sound.id, sound.point, &sound.spectrum, rpm_of(sound)};
}

/// The picked take first. A take has the colour here that it has in the list of takes.
ShownSpectra shown_of(const Frame& frame, const TakeSound& sound,
                      std::vector<std::shared_ptr<const TakeSound>>& kept) {
  const auto& series = frame.theme().series;
  const auto& compared = frame.state.view.compared;
  ShownSpectra shown{.name = kSpectrumName,
                     .spectra = {named(sound)},
                     .colours = {series[0]},
                     .difference = false,
                     .range = shown_frequencies(frame.state, sound)};
  for (std::size_t i = 0; i < std::min(compared.size(), series.size() - 1); ++i) {
    auto other = frame.sounds.find(compared[i]);
    if (!other || other->id == sound.id) continue;
    shown.spectra.push_back(named(*other));
    shown.colours.push_back(series.at(i + 1));
    kept.push_back(std::move(other));
  }
  shown.difference = frame.state.view.difference && shown.spectra.size() > 1;
  return shown;
}

/// Where the suspect band lies, in Hz; one in orders has no place in a take whose speed changes.
std::optional<Interval> band_in_hz(const Frame& frame, const TakeSound& sound) {
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr || !analysis->suspect_band || is_answer_hidden(frame.state))
    return std::nullopt;
  const AnalysisRequest::Band& band = analysis->suspect_band->band;
  if (band.unit == AnalysisRequest::Band::Unit::hertz) return band.range;
  const auto rpm = rpm_of(sound);
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
  const ShownSpectra shown = shown_of(frame, sound, kept);
  put_spectrum_plot(frame, area, shown,
                    {.takes_mouse =
                         [&](const Plot& plot, const Touch& touched) {
                           const float x =
                               std::clamp(ImGui::GetIO().MousePos.x, plot.box.x, plot.box.right());
                           return mark_band(frame, touched, kSpectrumName,
                                            AnalysisRequest::Band::Unit::hertz, plot.x_at(x));
                         },
                     .under = [&](const Plot& plot) { put_bands(frame, plot, sound); },
                     .over =
                         [&](const Plot& plot, const SpectrumCurves& curves) {
                           if (!shown.difference) put_marks(frame, plot, sound, curves.front());
                         }});
}

}  // namespace howl::desk
