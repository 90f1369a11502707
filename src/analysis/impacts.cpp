#include "src/analysis/impacts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "dsp/cepstrum.h"
#include "dsp/statistics.h"
#include "src/analysis/envelope_orders.h"
#include "src/analysis/strike_lines.h"

namespace howl {

namespace {

constexpr double kFalseAlarm = 0.01;  // a take
constexpr double kLowestOrder = 0.6;  // below, the swings of any noise rise
constexpr double kSameOrder = 0.012;  // a belt's slip differs this much from speed to speed
constexpr double kLeastSaid = 1e-6;   // a smaller chance is not believed
// A line must have so many times the power that tones explain: that is known to some 3 dB, and what
// is left then is more than what is explained.
constexpr double kOverBeats = 3.0;

StrikeParameters parameters_off_half_orders(const TakeEnvelopes& envelopes,
                                            const EnvelopeOrders& band) {
  StrikeParameters parameters;
  parameters.orders = {kLowestOrder, band.highest_order};
  parameters.may_count = [&grid = *envelopes.grid](double order, double width) {
    return grid.clear_of_half_orders(order, width);
  };
  parameters.false_alarm = kFalseAlarm;
  return parameters;
}

/// Lines of the band's envelope spectrum that the beating of its tones explains.
std::vector<bool> made_by_beats(const EnvelopeOrders& band) {
  std::vector<bool> made(band.floor.size());
  for (std::size_t k = 0; k < made.size(); ++k)
    made[k] = band.shape.power[k] - band.floor[k] < kOverBeats * band.beats[k];
  return made;
}

/// What may count as a blow: no half order, and no beat.
StrikeParameters strike_parameters(const TakeEnvelopes& envelopes, const EnvelopeOrders& band) {
  StrikeParameters parameters = parameters_off_half_orders(envelopes, band);
  parameters.may_count = [off_half_orders = parameters.may_count, beats = made_by_beats(band),
                          spacing = band.shape.spacing](double order, double width) {
    const auto line = static_cast<std::size_t>(std::lround(order / spacing));
    return off_half_orders(order, width) && line < beats.size() && !beats[line];
  };
  return parameters;
}

double lines_of_take(const TakeEnvelopes& envelopes) {
  double count = 0.0;
  for (const EnvelopeOrders& band : envelopes.bands)
    count += static_cast<double>(
        lines_to_look_at(band.shape, parameters_off_half_orders(envelopes, band)));
  return count;
}

/// Depth m of an amplitude modulation 1 + m·cos whose power swings by ±a of its mean:
/// a = 2m/(1 + m²/2). Sharper blows swing more than any m ≤ 1 can, and read 1.
double modulation_depth(double swing) {
  if (swing >= 4.0 / 3.0) return 1.0;
  return swing > 0.0 ? (2.0 - std::sqrt(4.0 - 2.0 * swing * swing)) / swing : 0.0;
}

double swing_at(const EnvelopeOrders& band, std::size_t line) {
  const double share = std::max(0.0, 1.0 - band.floor[line] / band.shape.power[line]);
  return std::sqrt(2.0 * band.swing[line] * share);
}

/// Spacing of the envelope spectrum's lines, the engine's set aside.
std::optional<FamilySpacing> cepstral_spacing(const EnvelopeOrders& band,
                                              const StrikeParameters& parameters) {
  std::vector<bool> leave_out(band.shape.power.size());
  for (std::size_t k = 0; k < leave_out.size(); ++k)
    leave_out[k] = !parameters.may_count(band.shape.position(k), band.shape.spacing);
  return find_family_spacing(band.shape, band.floor, leave_out,
                             {.spacings = {kLowestOrder, 0.4 * band.highest_order},
                              .lines = parameters.orders,
                              .false_alarm = kFalseAlarm});
}

std::vector<StrikeSighting> band_strikes(const TakeEnvelopes& envelopes, const EnvelopeOrders& band,
                                         double lines_looked_at, std::size_t index) {
  StrikeParameters parameters = strike_parameters(envelopes, band);
  parameters.lines_looked_at = lines_looked_at;
  const std::vector<StrikeFamily> families = find_strikes(band.shape, band.floor, parameters);
  if (families.empty()) return {};
  const auto spacing = cepstral_spacing(band, parameters);
  std::vector<StrikeSighting> strikes;
  for (const StrikeFamily& family : families) {
    StrikeSighting strike;
    strike.take = index;
    strike.band_hz = band.band.hertz;
    strike.kurtosis = band.band.kurtosis;
    strike.order = family.order;
    strike.sigma = std::hypot(family.sigma, envelopes.grid->sigma * strike.order);
    strike.harmonics = family.harmonics;
    strike.sideband_order = family.sideband_order;
    strike.modulation_depth = modulation_depth(swing_at(band, family.strongest_line));
    strike.false_alarm = family.false_alarm;
    strike.spacing_in_cepstrum =
        spacing && std::abs(spacing->spacing / family.order - 1.0) < 0.5 * kSameOrder;
    strikes.push_back(strike);
  }
  return strikes;
}

bool same_order(const StrikeSighting& a, const StrikeSighting& b) {
  const double reach = 2.5 * std::hypot(a.sigma, b.sigma) + kSameOrder * std::min(a.order, b.order);
  return std::abs(a.order - b.order) < reach;
}

/// Whether a strike repeats a surer one: at its order, or at a multiple where it has harmonics.
bool repeats(const StrikeSighting& strike, const StrikeSighting& other) {
  const double times = std::max(1.0, std::round(strike.order / other.order));
  if (times > 1.0 && other.harmonics < 2) return false;
  StrikeSighting multiple = other;
  multiple.order *= times;
  multiple.sigma *= times;
  return same_order(strike, multiple);
}

void surest_first(std::vector<StrikeSighting>& strikes) {
  std::stable_sort(strikes.begin(), strikes.end(), [](const auto& a, const auto& b) {
    return std::pair(-a.harmonics, a.false_alarm) < std::pair(-b.harmonics, b.false_alarm);
  });
}

/// Strikes seen in several bands of one take: the surest stays.
std::vector<StrikeSighting> without_repeats(std::vector<StrikeSighting> strikes) {
  surest_first(strikes);
  std::vector<StrikeSighting> kept;
  for (const StrikeSighting& strike : strikes)
    if (std::none_of(kept.begin(), kept.end(),
                     [&](const StrikeSighting& other) { return repeats(strike, other); }))
      kept.push_back(strike);
  return kept;
}

using StrikeGroup = std::vector<StrikeSighting>;

/// Strikes of like order, one a take; what only repeats another group at a multiple is left out.
std::vector<StrikeGroup> grouped(std::vector<StrikeSighting> sightings) {
  surest_first(sightings);
  std::vector<StrikeGroup> groups;
  for (const StrikeSighting& sighting : sightings) {
    const auto group = std::find_if(groups.begin(), groups.end(), [&](const StrikeGroup& g) {
      return repeats(sighting, g.front());
    });
    if (group == groups.end()) {
      groups.push_back({sighting});
      continue;
    }
    const bool first_of_take = std::none_of(group->begin(), group->end(),
                                            [&](const auto& s) { return s.take == sighting.take; });
    if (first_of_take && same_order(sighting, group->front())) group->push_back(sighting);
  }
  return groups;
}

/// Mean order weighted by certainty; where takes differ by more than their errors, as a slipping
/// belt makes them, the interval covers them all.
void set_order(ImpactResult& result, const StrikeGroup& group) {
  double weights = 0.0;
  double sum = 0.0;
  for (const StrikeSighting& s : group) {
    weights += 1.0 / (s.sigma * s.sigma);
    sum += s.order / (s.sigma * s.sigma);
  }
  result.order = sum / weights;
  double misfit = 0.0;
  for (const StrikeSighting& s : group) misfit += std::pow((s.order - result.order) / s.sigma, 2);
  const auto count = static_cast<double>(group.size());
  const double scatter = count > 1.0 ? std::max(1.0, misfit / (count - 1.0)) : 1.0;
  const double quantile_95 =
      count > 1.0 && scatter > 1.0 ? student_quantile(0.975, count - 1.0) : kNormal95;
  const double reach = quantile_95 * std::sqrt(scatter / weights);
  result.order_ci95 = {result.order - reach, result.order + reach};
}

/// In a sweep as over several holds, only what keeps its order stands out as a line.
bool follows_engine(const ImpactResult& impact) {
  return impact.rpm_span.high > 1.06 * impact.rpm_span.low;
}

std::string rate_text(const ImpactResult& impact) {
  const double low = impact.frequency_hz.low;
  const double high = impact.frequency_hz.high;
  if (high < 1.06 * low)
    return fmt::format("{:.0f} a second at {:.0f} rpm", 0.5 * (low + high), impact.rpm_span.low);
  return fmt::format("{:.0f} to {:.0f} a second", low, high);
}

std::string meaning_of(const ImpactResult& impact) {
  std::string text;
  if (impact.harmonics >= 2)
    text = fmt::format(
        "something strikes {:.2f} times a crank turn ({}): a rolling element on a flaw in a "
        "bearing, a damaged tooth or vane, or a flaw of a belt or pulley",
        impact.order, rate_text(impact));
  else
    text = fmt::format(
        "the sound between {:.0f} and {:.0f} Hz swells {:.2f} times a crank turn ({}), without "
        "harmonics: one line alone shows no blows, may be a multiple of slower ones that the "
        "engine hides, and names no bearing",
        impact.band_hz.low, impact.band_hz.high, impact.order, rate_text(impact));
  if (impact.sideband_order)
    text += fmt::format(
        "; the blows come and go {:.2f} times a crank turn, as a flaw does that turns with a shaft "
        "of that ratio, or rides through its load",
        *impact.sideband_order);
  if (impact.tone)
    text += fmt::format("; {} has the same order, so it may be that part's own pulsation",
                        *impact.tone);
  return text;
}

std::string advice_of(const ImpactResult& impact) {
  const std::string geometry =
      "compare with the defect orders of each bearing near the point (howlpoint bearing)";
  if (!follows_engine(impact))
    return "one speed cannot show that the blows follow the engine: record this point at a second "
           "speed, or in a slow sweep; then " +
           geometry;
  if (impact.harmonics < 2) return "record longer, at the points around it; " + geometry;
  return geometry + ", and listen which point has the deepest swells";
}

bool heard_in_band(const ToneResult& tone, const Interval& band) {
  return tone.frequency_hz.high > band.low && tone.frequency_hz.low < band.high;
}

/// Whether two tones in the band lie as far apart as the line: their beat swells just so.
bool is_beat(const ImpactResult& impact, const std::vector<ToneResult>& tones) {
  if (impact.harmonics >= 2) return false;
  const double slack = 0.01 * impact.order + impact.order_ci95.width();
  for (const ToneResult& a : tones)
    for (const ToneResult& b : tones) {
      if (!a.order || !b.order || !heard_in_band(a, impact.band_hz) ||
          !heard_in_band(b, impact.band_hz))
        continue;
      if (std::abs(*a.order - *b.order - impact.order) < slack) return true;
    }
  return false;
}

void name_tone(ImpactResult& impact, const std::vector<ToneResult>& tones) {
  for (const ToneResult& tone : tones)
    if (!impact.tone && !tone.combustion && tone.order &&
        std::abs(*tone.order / impact.order - 1.0) < 0.5 * kSameOrder)
      impact.tone = tone.id;
}

ImpactResult result_of(const StrikeGroup& group, const std::vector<TakeAudio>& takes) {
  const StrikeSighting& best = group.front();
  ImpactResult result;
  result.band_hz = best.band_hz;
  result.spectral_kurtosis = best.kurtosis;
  result.harmonics = best.harmonics;
  result.sideband_order = best.sideband_order;
  result.modulation_depth = best.modulation_depth;
  result.spacing_in_cepstrum = best.spacing_in_cepstrum;
  set_order(result, group);
  result.false_alarm_probability = 1.0;
  result.rpm_span = {1e12, 0.0};
  for (const StrikeSighting& s : group) {
    const SpeedCurve::Range range = speed_range(takes[s.take]);
    result.takes.push_back(takes[s.take].id);
    result.rpm_span = {std::min(result.rpm_span.low, range.low.value),
                       std::max(result.rpm_span.high, range.high.value)};
    result.false_alarm_probability = std::min(result.false_alarm_probability, s.false_alarm);
  }
  result.false_alarm_probability = std::clamp(
      result.false_alarm_probability * static_cast<double>(takes.size()), kLeastSaid, 1.0);
  result.frequency_hz = {result.order * result.rpm_span.low / 60.0,
                         result.order * result.rpm_span.high / 60.0};
  return result;
}

}  // namespace

std::vector<StrikeSighting> survey_strikes(const TakeAudio& take, std::size_t index) {
  const TakeEnvelopes envelopes = take_envelopes(take);
  const double looked_at = lines_of_take(envelopes);
  std::vector<StrikeSighting> strikes;
  for (const EnvelopeOrders& band : envelopes.bands)
    for (const StrikeSighting& strike : band_strikes(envelopes, band, looked_at, index))
      strikes.push_back(strike);
  return without_repeats(std::move(strikes));
}

std::vector<ImpactResult> impact_results(std::vector<StrikeSighting> sightings,
                                         const std::vector<TakeAudio>& takes,
                                         const std::vector<ToneResult>& tones) {
  std::vector<ImpactResult> results;
  for (const StrikeGroup& group : grouped(std::move(sightings))) {
    ImpactResult result = result_of(group, takes);
    if (is_beat(result, tones)) continue;
    name_tone(result, tones);
    result.meaning = meaning_of(result);
    result.advice = advice_of(result);
    results.push_back(std::move(result));
  }
  std::stable_sort(results.begin(), results.end(), [](const auto& a, const auto& b) {
    return std::pair(a.harmonics >= 2, a.takes.size()) >
           std::pair(b.harmonics >= 2, b.takes.size());
  });
  for (std::size_t i = 0; i < results.size(); ++i) results[i].id = fmt::format("impact{}", i + 1);
  return results;
}

std::vector<ImpactResult> find_impacts(const std::vector<TakeAudio>& takes,
                                       const std::vector<ToneResult>& tones,
                                       const Progress& progress) {
  std::vector<StrikeSighting> strikes;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    progress(0.62 + 0.08 * static_cast<double>(i) / static_cast<double>(takes.size()),
             "looking for blows in " + takes[i].id);
    for (const StrikeSighting& strike : survey_strikes(takes[i], i)) strikes.push_back(strike);
  }
  return impact_results(std::move(strikes), takes, tones);
}

}  // namespace howl
