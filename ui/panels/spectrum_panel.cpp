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

/// Where a tone stands in the spectrum of a take in which it was heard: over Hz that takes a speed
/// that does not change, over orders a tone that has one.
std::optional<double> place_of(const ToneResult& tone, const std::string& take, bool orders,
                               bool steady) {
  const auto at = std::ranges::find(tone.track, take, &TrackPoint::take);
  if (at == tone.track.end()) return std::nullopt;
  if (orders) return tone.order;
  return steady || !tone.order ? std::optional(at->frequency_hz) : std::nullopt;
}

void put_marks(Frame& frame, const Plot& plot, const TakeSound& sound,
               std::span<const PlotPoint> curve) {
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr || is_answer_hidden(frame.state)) return;
  const bool orders = spectrum_has_orders(frame.state, sound);
  const bool steady = steady_rpm(sound.speed, sound.seconds).has_value();  // once: a log is long
  for (const ToneResult& tone : analysis->tones) {
    const auto at = place_of(tone, sound.id, orders, steady);
    if (!at) continue;
    double level = -200;
    const double reach = 0.01 * *at + (orders ? 0.05 : 3);
    for (const PlotPoint& point : curve)
      if (std::abs(point.x - *at) < reach) level = std::max(level, point.y);
    const ImVec2 place = plot.at(*at, level);
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

/// A take with its spectrum: over orders, or of a stretch, that of its map.
struct Shown {
  std::shared_ptr<const TakeSound> sound;
  std::shared_ptr<const PowerSpectrum> section;
};

NamedSpectrum named(const Shown& shown) {
  const TakeSound& sound = *shown.sound;
  return {sound.id, sound.point, shown.section ? shown.section.get() : &sound.spectrum,
          rpm_of(sound)};
}

/// The picked take first. A take has the colour here that it has in the list of takes.
ShownSpectra shown_of(const Frame& frame, const std::shared_ptr<const TakeSound>& sound,
                      std::vector<Shown>& kept) {
  const auto& series = frame.theme().series;
  const auto& compared = frame.state.view.compared;
  const bool orders = spectrum_has_orders(frame.state, *sound);
  ShownSpectra shown{
      .name = kSpectrumName,
      .spectra = {},
      .colours = {},
      .difference = false,
      .range = rows_of(frame.state, *sound, SoundPart::spectrum).shown,
      .orders = orders,
      .offers_axis = sound->orders && frame.state.view.sound_plot == SoundPlot::spectrum,
      .rpm = rpm_of_spectrum(frame.state, *sound)};
  const auto add = [&](const std::shared_ptr<const TakeSound>& take, ImU32 colour,
                       const std::optional<Interval>& time) {
    if (orders && !take->orders) return;
    kept.push_back(
        {take, orders || time
                   ? frame.sounds.section(*take, orders, time.value_or(Interval{0, take->seconds}))
                   : nullptr});
    shown.spectra.push_back(named(kept.back()));
    shown.colours.push_back(colour);
  };
  // Others are of other times: each of them whole.
  add(sound, series[0], frame.state.view.sound.time_s);
  for (std::size_t i = 0; i < std::min(compared.size(), series.size() - 1); ++i)
    if (const auto other = frame.sounds.find(compared[i]); other && other->id != sound->id)
      add(other, series.at(i + 1), std::nullopt);
  shown.difference = frame.state.view.difference && shown.spectra.size() > 1;
  return shown;
}

/// Where the suspect band lies; between Hz and orders that takes a speed that does not change.
std::optional<Interval> band_on_axis(const Frame& frame, const TakeSound& sound, bool orders) {
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr || !analysis->suspect_band || is_answer_hidden(frame.state))
    return std::nullopt;
  const AnalysisRequest::Band& band = analysis->suspect_band->band;
  if ((band.unit == AnalysisRequest::Band::Unit::order) == orders) return band.range;
  const auto rpm = rpm_of(sound);
  if (!rpm) return std::nullopt;
  const double factor = orders ? 60 / *rpm : *rpm / 60;
  return Interval{band.range.low * factor, band.range.high * factor};
}

void put_bands(Frame& frame, const Plot& plot, const TakeSound& sound) {
  const auto strip = [&](double low, double high) {
    const float from = plot.at(std::max(low, plot.x.low), plot.y.low).x;
    const float to = plot.at(std::min(high, plot.x.high), plot.y.low).x;
    return Area{from, plot.box.y, std::max(0.0F, to - from), plot.box.h};
  };
  if (const auto band = band_on_axis(frame, sound, spectrum_has_orders(frame.state, sound))) {
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

void put_spectra(Frame& frame, const Area& area, const std::shared_ptr<const TakeSound>& taken) {
  const TakeSound& sound = *taken;
  std::vector<Shown> kept;
  const ShownSpectra shown = shown_of(frame, taken, kept);
  const auto unit =
      shown.orders ? AnalysisRequest::Band::Unit::order : AnalysisRequest::Band::Unit::hertz;
  put_spectrum_plot(frame, area, shown,
                    {.takes_mouse =
                         [&](const Plot& plot, const Touch& touched) {
                           const float x =
                               std::clamp(ImGui::GetIO().MousePos.x, plot.box.x, plot.box.right());
                           return mark_band(frame, touched, kSpectrumName, unit, plot.x_at(x));
                         },
                     .under = [&](const Plot& plot) { put_bands(frame, plot, sound); },
                     .over =
                         [&](const Plot& plot, const SpectrumCurves& curves) {
                           if (!shown.difference) put_marks(frame, plot, sound, curves.front());
                         }});
}

}  // namespace howl::desk
