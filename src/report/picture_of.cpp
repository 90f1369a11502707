#include "src/report/picture_of.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include "dsp/order_map.h"
#include "dsp/spectrogram.h"
#include "dsp/spectrum.h"
#include "src/analysis/sighting.h"
#include "src/analysis/suspect_band.h"
#include "src/case/find_take.h"
#include "src/errors.h"
#include "src/percent_text.h"
#include "src/profile/case_profile.h"
#include "src/reasoning/diagnose.h"
#include "src/report/family_words.h"
#include "src/report/result_words.h"
#include "src/report/sketch_of.h"
#include "src/report/suspects_of.h"

namespace howl {

namespace {

constexpr std::size_t kMostColumns = 700;
constexpr std::size_t kMostRows = 500;
constexpr double kScaleSpanDb = 60.0;
constexpr double kTopHz = 4000.0;

constexpr std::size_t kMostSpectra = 4;

float decibels(double mean_square) {
  return static_cast<float>(10.0 * std::log10(std::max(2.0 * mean_square, 1e-20)));
}

const Take& take_named(const Case& value, const std::string& id) {
  const Take* const take = find_take(value, id);
  if (take == nullptr) throw no_such_take(value, "take " + id);
  return *take;
}

TakeAudio open_named(const std::filesystem::path& folder, const Case& value,
                     const std::string& id) {
  std::vector<std::string> warnings;
  return open_take(folder, take_named(value, id), value.cylinders, warnings);
}

bool alike(const TakeResult& a, const TakeResult& b) {
  return a.load == b.load && a.background == b.background &&
         std::abs(a.rpm_min / b.rpm_min - 1.0) < 0.03 &&
         std::abs(a.rpm_max / b.rpm_max - 1.0) < 0.03;
}

double sweep_ratio(const TakeResult& take) { return take.rpm_max / take.rpm_min; }

/// The take that shows the tone over the widest range of speed; of holds, one at the loudest point.
std::string telling_take(const Analysis& analysis) {
  const ToneResult* tone = first_howl(analysis.tones);
  const std::string loudest = analysis.ranking.empty() ? "" : analysis.ranking.front().point;
  const TakeResult* best = nullptr;
  const auto better = [&](const TakeResult& a, const TakeResult& b) {
    if (std::abs(sweep_ratio(a) - sweep_ratio(b)) > 0.05) return sweep_ratio(a) > sweep_ratio(b);
    return (a.point == loudest) && (b.point != loudest);
  };
  for (const TakeResult& take : analysis.takes) {
    const bool shows =
        !tone || std::find(tone->takes.begin(), tone->takes.end(), take.id) != tone->takes.end();
    if (take.background) continue;
    if (shows && (!best || better(take, *best))) best = &take;
  }
  if (!best)
    throw Error(Fault::file, "case", "there is no take to show in which the suspect works",
                "add one with: howlpoint add; or name one with --take");
  return best->id;
}

/// A hold at the loudest point at the speed that most takes share, or else what tells most.
std::string spectrum_take(const Analysis& analysis) {
  const TakeResult* best = nullptr;
  std::ptrdiff_t best_company = -1;
  for (const TakeResult& take : analysis.takes) {
    if (analysis.ranking.empty() || take.background ||
        take.point != analysis.ranking.front().point || sweep_ratio(take) > 1.06)
      continue;
    const auto company = std::count_if(analysis.takes.begin(), analysis.takes.end(),
                                       [&](const TakeResult& t) { return alike(t, take); });
    if (company > best_company) {
      best = &take;
      best_company = company;
    }
  }
  return best ? best->id : telling_take(analysis);
}

std::string speed_words(const TakeAudio& take) {
  if (take.engine_off) return ", engine off";
  const SpeedCurve::Range range = speed_range(take);
  return is_hold(take) ? fmt::format(", {:.0f} rpm", 0.5 * (range.low + range.high).value)
                       : fmt::format(", {:.0f} to {:.0f} rpm", range.low.value, range.high.value);
}

std::string take_words(const TakeAudio& take) {
  std::string words = fmt::format("Take {} at {}", take.id, take.point) + speed_words(take);
  for (const auto& [key, state] : take.load) words += fmt::format(", {} {}", key, state);
  if (take.background) words += ", background";
  return take.engine_off ? words : words + fmt::format(" (speed {})", take.speed_source);
}

bool of_take(const ToneResult& tone, const std::string& id) {
  return std::find(tone.takes.begin(), tone.takes.end(), id) != tone.takes.end();
}

/// Settled or prominent, of the vehicle, and not the engine's firing.
bool worth_drawing(const ToneResult& tone) {
  constexpr double least_tone_to_noise_db = 3.0;
  return can_be_the_howl(tone) &&
         (tone.prominent || tone.tone_to_noise_db > least_tone_to_noise_db);
}

/// The tones worth a label in one take: howls, and the strongest firing order to compare them with.
std::vector<const ToneResult*> tones_of(const Analysis& analysis, const std::string& id) {
  constexpr std::size_t most = 5;
  std::vector<const ToneResult*> tones;
  for (const ToneResult& tone : analysis.tones)
    if (of_take(tone, id) && worth_drawing(tone) && tones.size() < most) tones.push_back(&tone);
  for (const ToneResult& tone : analysis.tones)
    if (of_take(tone, id) && tone.combustion) {
      tones.push_back(&tone);
      break;
    }
  return tones;
}

/// A tone's pitch in one take: the middle of what the take shows.
double pitch_in(const ToneResult& tone, const std::string& take) {
  double low = 1e12;
  double high = 0.0;
  for (const TrackPoint& p : tone.track) {
    if (p.take != take) continue;
    low = std::min(low, p.frequency_hz);
    high = std::max(high, p.frequency_hz);
  }
  return high > 0.0 ? 0.5 * (low + high) : 0.5 * (tone.frequency_hz.low + tone.frequency_hz.high);
}

std::string tone_label(const ToneResult& tone, const std::string& take) {
  if (tone.order) return fmt::format("order {:.2f}", *tone.order);
  return fmt::format("{:.0f} Hz, {}", pitch_in(tone, take), behaviour_name(tone.behaviour));
}

void set_level_scale(MapPicture& picture) {
  float top = -200.0F;
  for (const float level : picture.map.level_db)
    if (std::isfinite(level)) top = std::max(top, level);
  picture.level_high_db = 5.0 * std::ceil(static_cast<double>(top) / 5.0);
  picture.level_low_db = picture.level_high_db - kScaleSpanDb;
}

// ---- spectrogram -------------------------------------------------------------------------------

constexpr std::size_t kLinePoints = 200;

std::vector<PlotPoint> speed_strip(const TakeAudio& take) {
  std::vector<PlotPoint> strip;
  if (take.engine_off) return strip;
  const TimeSpans unknown = without_speed(take);
  for (std::size_t i = 0; i <= kLinePoints; ++i) {
    const double t = take.seconds * static_cast<double>(i) / kLinePoints;
    if (!contains(unknown, t)) strip.push_back({t, take.speed.at(Seconds(t)).value});
  }
  return strip;
}

OverlayLine overlay_of(const ToneResult& tone, const TakeAudio& take) {
  OverlayLine line{tone_label(tone, take.id), {}};
  if (!tone.order) {
    for (const TrackPoint& p : tone.track)
      if (p.take == take.id) line.points.push_back({p.time_s, p.frequency_hz});
    if (line.points.size() == 1)
      line.points = {{0.0, line.points[0].y}, {take.seconds, line.points[0].y}};
    return line;
  }
  for (const PlotPoint& p : speed_strip(take))
    line.points.push_back({p.x, frequency_of(Order(*tone.order), Rpm(p.y)).value});
  return line;
}

double top_frequency(const TakeAudio& take, const Analysis& analysis) {
  double top = 1000.0;
  for (const ToneResult* tone : tones_of(analysis, take.id))
    top = std::max(top, 1.5 * tone->frequency_hz.high);
  return std::min({top, 0.5 * take.sample_rate, kTopHz * 2.0});
}

MapPicture spectrogram_of(const TakeAudio& take, const Case& value, const Analysis& analysis) {
  const double top = top_frequency(take, analysis);
  OverviewParameters parameters;
  parameters.spectrogram.length = spectrogram_block(take);
  parameters.spectrogram.hop = parameters.spectrogram.length / 4;
  parameters.max_columns = kMostColumns;
  parameters.max_rows = kMostRows;
  parameters.band_hz = Interval{0.0, top};
  SpectrogramOverview overview(take.sample_rate, parameters);
  take.stream([&](std::span<const float> chunk) { overview.push(chunk); });
  const Spectrogram map = overview.result();

  MapPicture picture;
  picture.title = value.title.empty() ? "Spectrogram" : value.title;
  picture.subtitle = take_words(take);
  if (map.columns > 0) {
    picture.x = {"Time", "s", map.first_time.value, map.time(map.columns - 1).value, false};
    picture.y = {"Frequency", "Hz", map.first_frequency.value, map.frequency(map.rows - 1).value,
                 false};
  }
  picture.map = {map.columns, map.rows, {}};
  for (const float power : map.power)
    picture.map.level_db.push_back(decibels(static_cast<double>(power)));
  set_level_scale(picture);
  picture.level_unit = analysis.level_reference;
  for (const ToneResult* tone : tones_of(analysis, take.id))
    picture.lines.push_back(overlay_of(*tone, take));
  if (analysis.suspect_band &&
      analysis.suspect_band->band.unit == AnalysisRequest::Band::Unit::hertz)
    picture.marked_band = analysis.suspect_band->band.range;
  picture.speed_strip = speed_strip(take);
  return picture;
}

// ---- order map ---------------------------------------------------------------------------------

struct OrderColumns {
  std::vector<double> rpm;
  std::vector<double> time;
  std::vector<std::vector<float>> power;
  double spacing{};
};

double top_order(const TakeAudio& take, const Analysis& analysis) {
  double top = 16.0;
  for (const ToneResult* tone : tones_of(analysis, take.id))
    if (tone->order) top = std::max(top, 1.5 * *tone->order);
  if (analysis.suspect_band &&
      analysis.suspect_band->band.unit == AnalysisRequest::Band::Unit::order)
    top = std::max(top, 1.3 * analysis.suspect_band->band.range.high);
  return std::min(top, 150.0);
}

OrderColumns order_columns(const TakeAudio& take, double top) {
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  OrderMapParameters parameters;
  parameters.highest_order = top;
  parameters.revolutions = std::clamp(2.0 * std::floor(turns / 16.0), 4.0, 32.0);
  parameters.hop_revolutions =
      std::max(parameters.revolutions / 8.0, turns / static_cast<double>(kMostColumns));
  OrderColumns columns;
  const TimeSpans unknown = without_speed(take);
  OrderMap map(take.speed, take.sample_rate, parameters, [&](const OrderColumn& column) {
    const double half = 30.0 * column.revolutions_per_block / column.speed.value;
    if (reaches_into(unknown, column.time.value - half, column.time.value + half)) return;
    columns.rpm.push_back(column.speed.value);
    columns.time.push_back(column.time.value);
    const auto lines = std::min(column.power.size(),
                                static_cast<std::size_t>(top * column.revolutions_per_block) + 1);
    columns.power.emplace_back(column.power.begin(),
                               column.power.begin() + static_cast<std::ptrdiff_t>(lines));
  });
  take.stream([&](std::span<const float> chunk) { map.push(chunk); });
  map.finish();
  columns.spacing = map.spacing();
  return columns;
}

/// Regular columns along `place` (speed or time): blocks that fall together are averaged, columns
/// without a block take the nearest one.
Heatmap regular_map(const std::vector<double>& place, const std::vector<std::vector<float>>& power,
                    const Interval& range, std::size_t columns) {
  const std::size_t rows = power.front().size();
  std::vector<std::vector<double>> sum(columns, std::vector<double>(rows, 0.0));
  std::vector<double> count(columns, 0.0);
  const auto column_of = [&](double x) {
    const double share = (x - range.low) / range.width();
    return static_cast<std::size_t>(std::clamp(share * static_cast<double>(columns - 1) + 0.5, 0.0,
                                               static_cast<double>(columns - 1)));
  };
  for (std::size_t i = 0; i < place.size(); ++i) {
    const std::size_t c = column_of(place[i]);
    count[c] += 1.0;
    for (std::size_t r = 0; r < rows; ++r) sum[c][r] += static_cast<double>(power[i][r]);
  }
  Heatmap map{columns, rows, {}};
  for (std::size_t c = 0; c < columns; ++c) {
    std::size_t from = c;
    for (std::size_t away = 0; away < columns; ++away) {
      if (c >= away && count[c - away] > 0.0) {
        from = c - away;
        break;
      }
      if (c + away < columns && count[c + away] > 0.0) {
        from = c + away;
        break;
      }
    }
    for (std::size_t r = 0; r < rows; ++r)
      map.level_db.push_back(decibels(sum[from][r] / std::max(1.0, count[from])));
  }
  return map;
}

MapPicture orders_of(const TakeAudio& take, const Case& value, const Analysis& analysis) {
  const double top = top_order(take, analysis);
  const OrderColumns columns = order_columns(take, top);
  const bool by_speed = !is_hold(take);
  MapPicture picture;
  picture.title = value.title.empty() ? "Order map" : value.title;
  picture.subtitle = take_words(take);
  picture.level_unit = analysis.level_reference;
  picture.x = by_speed ? PlotAxis{"Engine speed", "rpm", 0.0, 0.0, false}
                       : PlotAxis{"Time", "s", 0.0, 0.0, false};
  picture.y = {"Order", "cycles per crankshaft revolution", 0.0, top, false};
  const std::vector<double>& place = by_speed ? columns.rpm : columns.time;
  if (place.size() > 1) {
    const auto [low, high] = std::minmax_element(place.begin(), place.end());
    picture.x.low = *low;
    picture.x.high = *high;
    picture.y.high = columns.spacing * static_cast<double>(columns.power.front().size() - 1);
    picture.map =
        regular_map(place, columns.power, {*low, *high}, std::min(kMostColumns, 2 * place.size()));
    set_level_scale(picture);
    for (const ToneResult* tone : tones_of(analysis, take.id)) {
      OverlayLine line{tone_label(*tone, take.id), {}};
      if (tone->order) line.points = {{*low, *tone->order}, {*high, *tone->order}};
      if (!tone->order && by_speed)
        for (const TrackPoint& p : tone->track)
          if (p.take == take.id) line.points.push_back({p.rpm, 60.0 * p.frequency_hz / p.rpm});
      std::sort(line.points.begin(), line.points.end(),
                [](const PlotPoint& a, const PlotPoint& b) { return a.x < b.x; });
      if (line.points.size() > 1) picture.lines.push_back(std::move(line));
    }
    if (!by_speed) picture.speed_strip = speed_strip(take);
  }
  if (analysis.suspect_band &&
      analysis.suspect_band->band.unit == AnalysisRequest::Band::Unit::order)
    picture.marked_band = analysis.suspect_band->band.range;
  return picture;
}

// ---- spectrum ----------------------------------------------------------------------------------

PowerSpectrum spectrum_of(const TakeAudio& take) {
  std::size_t length = 64;
  while (static_cast<double>(length) < std::min(0.5, take.seconds / 4.0) * take.sample_rate)
    length *= 2;
  WelchSpectrum welch(take.sample_rate, {WindowKind::hann, length, length / 2});
  take.stream([&](std::span<const float> chunk) { welch.push(chunk); });
  return welch.result();
}

SpectrumSeries series_of(const TakeAudio& take, double top) {
  const PowerSpectrum spectrum = spectrum_of(take);
  SpectrumSeries series{fmt::format("{} ({})", take.point, take.id), {}};
  for (std::size_t k = 1; k < spectrum.power.size() && spectrum.position(k) <= top; ++k)
    series.points.push_back(
        {spectrum.position(k), static_cast<double>(decibels(spectrum.power[k]))});
  return series;
}

const TakeResult& result_named(const Analysis& analysis, const std::string& id) {
  return *std::find_if(analysis.takes.begin(), analysis.takes.end(),
                       [&](const TakeResult& t) { return t.id == id; });
}

/// The take asked for, then the same speed and load at other points, loudest first.
std::vector<std::string> spectra_to_show(const Analysis& analysis, const std::string& id) {
  const TakeResult& main = result_named(analysis, id);
  std::vector<std::string> ids{id};
  for (const RankedPoint& point : analysis.ranking) {
    if (point.point == main.point || ids.size() >= kMostSpectra) continue;
    for (const TakeResult& take : analysis.takes)
      if (take.point == point.point && alike(take, main)) {
        ids.push_back(take.id);
        break;
      }
  }
  return ids;
}

double level_near(const SpectrumSeries& series, double hz) {
  double best = -1e9;
  for (const PlotPoint& p : series.points)
    if (std::abs(p.x - hz) < 0.01 * hz + 3.0) best = std::max(best, p.y);
  return best;
}

void mark_tones(SpectrumPicture& picture, const Analysis& analysis, const std::string& id) {
  for (const ToneResult* tone : tones_of(analysis, id))
    for (const TrackPoint& p : tone->track)
      if (p.take == id) {
        picture.marks.push_back(
            {tone->order ? fmt::format("order {:.2f} · {:.0f} Hz", *tone->order, p.frequency_hz)
                         : tone_label(*tone, id),
             {p.frequency_hz, level_near(picture.series.front(), p.frequency_hz)}});
        break;
      }
}

SpectrumPicture spectrum_picture(const std::filesystem::path& folder, const Case& value,
                                 const Analysis& analysis, const std::string& id) {
  const TakeAudio main = open_named(folder, value, id);
  const double top = top_frequency(main, analysis);
  SpectrumPicture picture;
  picture.title = value.title.empty() ? "Spectrum" : value.title;
  picture.subtitle = take_words(main);
  double low = 1e9;
  double high = -1e9;
  for (const std::string& each : spectra_to_show(analysis, id)) {
    picture.series.push_back(series_of(open_named(folder, value, each), top));
    for (const PlotPoint& p : picture.series.back().points) {
      low = std::min(low, p.y);
      high = std::max(high, p.y);
    }
  }
  picture.x = {"Frequency", "Hz", 0.0, top, false};
  picture.y = {"Level", analysis.level_reference, std::max(low, high - 90.0), high, false};
  if (is_hold(main)) mark_tones(picture, analysis, id);
  if (analysis.suspect_band) {
    const AnalysisRequest::Band& band = analysis.suspect_band->band;
    const double rpm = 0.5 * (speed_range(main).low + speed_range(main).high).value;
    if (band.unit == AnalysisRequest::Band::Unit::hertz)
      picture.marked_band = band.range;
    else if (is_hold(main) && !main.engine_off)
      picture.marked_band = Interval{band.range.low * rpm / 60.0, band.range.high * rpm / 60.0};
  }
  return picture;
}

// ---- pitch against speed -----------------------------------------------------------------------

double law_frequency(const FittedLaw& law, double rpm) {
  return law.frequency_at_reference_hz * std::pow(rpm / law.reference_rpm, law.exponent);
}

std::string pitch_label(const ToneResult& tone) {
  std::string label = tone.id + ": " + behaviour_text(tone);
  if (tone.order)
    label += fmt::format(", order {:.2f} ({:.2f} … {:.2f})", *tone.order, tone.order_ci95->low,
                         tone.order_ci95->high);
  else if (tone.behaviour == Behaviour::fixed_pitch)
    label += fmt::format(", {:.0f} Hz", 0.5 * (tone.frequency_hz.low + tone.frequency_hz.high));
  return label;
}

PitchSeries pitch_series(const ToneResult& tone, const Interval& rpm) {
  PitchSeries series;
  series.label = pitch_label(tone);
  for (const TrackPoint& p : tone.track)
    series.points.push_back({p.rpm, p.frequency_hz, p.sigma_hz});
  for (const FittedLaw& law : tone.laws) {
    if (law.weight < 0.02 || law.name == "road") continue;
    PitchSeries::Law drawn;
    drawn.law = law.name;
    drawn.label = fmt::format("{}, {}", short_law_words(law.name), percent_text(law.weight));
    drawn.weight = law.weight;
    const bool banded = tone.order_ci95 && law.exponent == 1.0;
    for (int i = 0; i <= 40; ++i) {
      const double n = rpm.low + rpm.width() * i / 40.0;
      drawn.curve.push_back({n, law_frequency(law, n)});
      if (banded) {
        drawn.upper.push_back({n, tone.order_ci95->high * n / 60.0});
        drawn.lower.push_back({n, tone.order_ci95->low * n / 60.0});
      }
    }
    series.laws.push_back(std::move(drawn));
  }
  return series;
}

PitchPicture pitch_of(const Case& value, const Analysis& analysis) {
  PitchPicture picture;
  picture.title = value.title.empty() ? "Pitch against engine speed" : value.title;
  picture.subtitle =
      "Pitch against engine speed: points as measured, lines as each law predicts, with its weight";
  Interval rpm{1e9, 0.0};
  for (const TakeResult& take : analysis.takes)
    if (!take.engine_off) rpm = {std::min(rpm.low, take.rpm_min), std::max(rpm.high, take.rpm_max)};
  const double room = std::max(50.0, 0.05 * rpm.width());
  rpm = {std::max(0.0, rpm.low - room), rpm.high + room};
  double top = 0.0;
  for (const ToneResult& tone : analysis.tones) {
    if (!worth_drawing(tone) || told_with_family(tone, analysis)) continue;
    if (picture.series.size() >= 4) break;
    picture.series.push_back(pitch_series(tone, rpm));
    top = std::max(top, tone.frequency_hz.high);
  }
  picture.rpm = {"Engine speed", "rpm", rpm.low, rpm.high, false};
  picture.frequency = {"Pitch", "Hz", 0.0, 1.1 * top, false};
  return picture;
}

// ---- ranking -----------------------------------------------------------------------------------

std::string band_words(const SuspectBand& suspect) {
  const Interval& range = suspect.band.range;
  const std::string band = suspect.band.unit == AnalysisRequest::Band::Unit::order
                               ? fmt::format("orders {:.2f} to {:.2f}", range.low, range.high)
                               : fmt::format("{:.0f} to {:.0f} Hz", range.low, range.high);
  return fmt::format("Level in the suspect band, {} ({}), with 95 % interval", band,
                     suspect.chosen_by_user ? "given by the user" : "chosen by the program");
}

RankingPicture ranking_of(const Case& value, const Analysis& analysis) {
  RankingPicture picture;
  picture.title = value.title.empty() ? "Ranking of the probe points" : value.title;
  picture.subtitle =
      analysis.suspect_band ? band_words(*analysis.suspect_band) : "No howl was found";
  picture.level_unit = analysis.level_reference;
  for (const RankedPoint& point : analysis.ranking)
    picture.bars.push_back({point.point,
                            point.level_db.value_or(std::numeric_limits<double>::quiet_NaN()),
                            point.ci95_db, point.probability_loudest.value_or(0.0),
                            point.level_db ? std::string(call_name(point.call)) : "not compared",
                            point.warnings, point.upper_bound});
  return picture;
}

void require_running_engine(const Case& value, PictureKind kind, const std::string& id) {
  const bool by_speed = kind == PictureKind::orders || kind == PictureKind::pitch;
  if (!by_speed || !std::holds_alternative<EngineOff>(take_named(value, id).speed)) return;
  throw Error(Fault::command, "take " + id,
              "was recorded with the engine off, so it has no orders and no pitch against speed",
              "draw its spectrogram or spectrum");
}

}  // namespace

std::size_t spectrogram_block(const TakeAudio& take) {
  const double seconds = is_hold(take) ? 0.17 : 0.085;
  return std::max<std::size_t>(64, power_of_two_from(seconds * take.sample_rate));
}

std::optional<std::string> take_to_show(const Analysis& analysis, PictureKind kind) {
  switch (kind) {
    case PictureKind::spectrogram:
    case PictureKind::orders:
      return telling_take(analysis);
    case PictureKind::spectrum:
      return spectrum_take(analysis);
    case PictureKind::pitch:
    case PictureKind::ranking:
    case PictureKind::sketch:
    case PictureKind::suspects:
      break;
  }
  return std::nullopt;
}

AnyPicture picture_of(const std::filesystem::path& folder, const Case& value,
                      const Profile& profile, const Analysis& analysis, PictureKind kind,
                      const std::optional<std::string>& take_id) {
  if (take_id) require_running_engine(value, kind, *take_id);
  if (kind == PictureKind::pitch) return pitch_of(value, analysis);
  if (kind == PictureKind::ranking) return ranking_of(value, analysis);
  if (kind == PictureKind::sketch) return sketch_of(value, profile, analysis);
  if (kind == PictureKind::suspects) return suspects_of(value, analysis.verdict);
  const std::string id = take_named(value, take_id ? *take_id : *take_to_show(analysis, kind)).id;
  if (kind == PictureKind::spectrum) return spectrum_picture(folder, value, analysis, id);
  const TakeAudio take = open_named(folder, value, id);
  if (kind == PictureKind::spectrogram) return spectrogram_of(take, value, analysis);
  return orders_of(take, value, analysis);
}

void draw_picture(const std::filesystem::path& folder, const Case& value, PictureKind kind,
                  const std::optional<std::string>& take_id, const AnalysisRequest& request,
                  const std::filesystem::path& out, const Progress& progress) {
  const Profile profile = case_profile(folder, value);
  const Analysis analysis = diagnose(folder, value, profile, request, progress);
  progress(1.0, "drawing");
  draw(picture_of(folder, value, profile, analysis, kind, take_id), out);
}

}  // namespace howl
