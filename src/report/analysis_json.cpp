#include "src/report/analysis_json.h"

#include <algorithm>

#include "dsp/statistics.h"
#include "src/report/json_values.h"
#include "src/report/result_words.h"
#include "src/version.h"

namespace howl {
namespace {

Json pair_of(const Interval& interval) {
  return Json::array({number(interval.low), number(interval.high)});
}
Json pair_of(const std::optional<Interval>& interval) {
  return interval ? pair_of(*interval) : Json(nullptr);
}

Json load_json(const LoadState& load) {
  Json result = Json::object();
  for (const auto& [key, value] : load) result[key] = value;
  return result;
}

Json reference_json(const std::optional<ReferenceResult>& reference) {
  if (!reference) return nullptr;
  return {{"level_db", number(reference->level_db)},
          {"correction_db", number(reference->correction_db)},
          {"coherence", number(reference->coherence)},
          {"delay_s", number(reference->delay_s)}};
}

Json hypothesis_json(const SoundSpeed::Hypothesis& hypothesis) {
  return {{"rpm", number(hypothesis.rpm)}, {"probability", number(hypothesis.probability)}};
}

Json quality_json(const QualityFinding& finding) {
  return {{"kind", quality_kind_name(finding.kind)},
          {"severity", severity_name(finding.severity)},
          {"from_s", number(finding.spans.front().low)},
          {"to_s", number(finding.spans.back().high)},
          {"places", finding.spans.size()},
          {"share", number(finding.share)},
          {"text", finding.text},
          {"remedy", finding.remedy}};
}

Json take_json(const TakeResult& take) {
  return {{"id", take.id},
          {"point", take.point},
          {"load", load_json(take.load)},
          {"road_speed_kmh", pair_of(take.road_kmh)},
          {"speed",
           {{"source", take.speed_source},
            {"rpm_min", number(take.rpm_min)},
            {"rpm_max", number(take.rpm_max)},
            {"rpm_from_sound", number(take.sound_speed.rpm)},
            {"rpm_from_sound_ci95", pair_of(take.sound_speed.rpm_ci95)},
            {"disagreement_percent", number(take.sound_speed.disagreement_percent)},
            {"hypotheses", list_of(take.sound_speed.hypotheses, hypothesis_json)},
            {"lag_s", take.lag ? number(take.lag->seconds) : Json(nullptr)},
            {"lag_ci95_s", take.lag ? number(take.lag->ci95) : Json(nullptr)}}},
          {"seconds", number(take.seconds)},
          {"background", take.background},
          {"reference", reference_json(take.reference)},
          {"quality", list_of(take.quality, quality_json)},
          {"warnings", warnings_of(take)}};
}

Json track_point_json(const TrackPoint& point) {
  return {{"time_s", number(point.time_s)},
          {"rpm", number(point.rpm)},
          {"frequency_hz", number(point.frequency_hz)},
          {"sigma_hz", number(point.sigma_hz)},
          {"take", point.take}};
}

Json law_json(const FittedLaw& law) {
  return {{"name", law.name},
          {"weight", number(law.weight)},
          {"reference_rpm", number(law.reference_rpm)},
          {"frequency_at_reference_hz", number(law.frequency_at_reference_hz)},
          {"exponent", number(law.exponent)},
          {"frequency_at_reference_ci95_hz", pair_of(law.frequency_at_reference_ci95_hz)},
          {"exponent_ci95", pair_of(law.exponent_ci95)}};
}

Json drive_json(const ToneResult& tone) {
  if (tone.behaviour != Behaviour::speed_locked) return nullptr;
  return drive_name(tone.drive);
}

Json tone_json(const ToneResult& tone, const std::string& level_reference) {
  return {{"id", tone.id},
          {"order", number(tone.order)},
          {"order_ci95", pair_of(tone.order_ci95)},
          {"frequency_hz", pair_of(tone.frequency_hz)},
          {"behaviour", behaviour_name(tone.behaviour)},
          {"drive", drive_json(tone)},
          {"pitch_exponent", number(tone.pitch_exponent)},
          {"pitch_exponent_ci95", pair_of(tone.pitch_exponent_ci95)},
          {"rpm_span", pair_of(tone.rpm_span)},
          {"level_db", number(tone.level_db)},
          {"level_bounds_db", pair_of(tone.level_bounds_db)},
          {"level_reference", level_reference},
          {"above_probe_range", tone.above_probe_range},
          {"may_come_from_clipping", tone.clipping_product_of.has_value()},
          {"tone_to_noise_db", number(tone.tone_to_noise_db)},
          {"prominent", tone.prominent},
          {"family", tone.family ? Json(*tone.family) : Json(nullptr)},
          {"sideband_of", tone.sideband ? Json(tone.sideband->carrier) : Json(nullptr)},
          {"sideband", tone.sideband ? Json(tone.sideband->number) : Json(nullptr)},
          {"combustion", tone.combustion},
          {"maybe_combustion", tone.maybe_combustion},
          {"swells_at_hz", number(tone.swells_at_hz)},
          {"takes", tone.takes},
          {"advice", text_or_null(tone.advice)},
          {"remark", text_or_null(tone.remark)},
          {"track", list_of(tone.track, track_point_json)},
          {"laws", list_of(tone.laws, law_json)}};
}

std::string_view unit_name(FamilyResult::Unit unit) {
  if (unit == FamilyResult::Unit::order) return "order";
  return unit == FamilyResult::Unit::hertz ? "hz" : "cycles_per_metre";
}

Json member_json(const FamilyResult::Member& member) {
  return {{"tone", member.tone}, {"harmonic", member.harmonic}, {"sideband", member.sideband}};
}

std::string_view kind_name(const FamilyResult& family) {
  const auto harmonics = std::ranges::count_if(
      family.members, [](const FamilyResult::Member& m) { return m.sideband == 0; });
  if (!family.spacing) return "harmonics";
  return harmonics > 1 ? "harmonics with sidebands" : "sidebands";
}

Json family_json(const FamilyResult& family) {
  const bool orders = family.unit == FamilyResult::Unit::order;
  const auto of_orders = [&](Json value) { return orders ? std::move(value) : Json(nullptr); };
  return {{"id", family.id},
          {"kind", kind_name(family)},
          {"unit", unit_name(family.unit)},
          {"base", number(family.base)},
          {"base_ci95", pair_of(family.base_ci95)},
          {"base_order", of_orders(number(family.base))},
          {"base_order_ci95", of_orders(pair_of(family.base_ci95))},
          {"sideband_spacing", number(family.spacing)},
          {"sideband_spacing_ci95", pair_of(family.spacing_ci95)},
          {"sideband_spacing_order", of_orders(number(family.spacing))},
          {"sideband_spacing_order_ci95", of_orders(pair_of(family.spacing_ci95))},
          {"modulation_depth", number(family.modulation_depth)},
          {"modulation_depth_ci95", pair_of(family.modulation_depth_ci95)},
          {"sideband_asymmetry_db", number(family.sideband_asymmetry_db)},
          {"carrier_heard", family.carrier_heard},
          {"members", list_of(family.members, member_json)},
          {"false_alarm", number(family.false_alarm)},
          {"level_db", number(family.level_db)},
          {"take", family.take ? Json(*family.take) : Json(nullptr)}};
}

Json impact_json(const ImpactResult& impact) {
  return {{"id", impact.id},
          {"takes", impact.takes},
          {"band_hz", pair_of(impact.band_hz)},
          {"spectral_kurtosis", number(impact.spectral_kurtosis)},
          {"order", number(impact.order)},
          {"order_ci95", pair_of(impact.order_ci95)},
          {"frequency_hz", pair_of(impact.frequency_hz)},
          {"rpm_span", pair_of(impact.rpm_span)},
          {"harmonics", impact.harmonics},
          {"sideband_order", number(impact.sideband_order)},
          {"modulation_depth", number(impact.modulation_depth)},
          {"false_alarm_probability", number(impact.false_alarm_probability)},
          {"spacing_in_cepstrum", impact.spacing_in_cepstrum},
          {"tone", impact.tone ? Json(*impact.tone) : Json(nullptr)},
          {"meaning", impact.meaning},
          {"advice", impact.advice}};
}

Json band_json(const std::optional<SuspectBand>& suspect) {
  if (!suspect) return nullptr;
  const bool in_hertz = suspect->band.unit == AnalysisRequest::Band::Unit::hertz;
  return {{"unit", in_hertz ? "hz" : "order"},
          {"low", number(suspect->band.range.low)},
          {"high", number(suspect->band.range.high)},
          {"chosen_by", suspect->chosen_by_user ? "user" : "tool"},
          {"why", text_or_null(suspect->why)}};
}

Json ranked_json(const RankedPoint& ranked, const std::string& level_reference) {
  const bool measured = ranked.level_db.has_value();
  return {{"point", ranked.point},
          {"level_db", number(ranked.level_db)},
          {"upper_bound", ranked.upper_bound},
          {"coherent_level_db", number(ranked.coherent_level_db)},
          {"level_reference", level_reference},
          {"ci95_db", pair_of(ranked.ci95_db)},
          {"below_loudest_db", number(ranked.below_loudest_db)},
          {"below_loudest_ci95_db", pair_of(ranked.below_loudest_ci95_db)},
          {"probability_loudest", number(ranked.probability_loudest)},
          {"call", measured ? Json(call_name(ranked.call)) : Json(nullptr)},
          {"takes", ranked.takes},
          {"warnings", ranked.warnings}};
}

Json estimate_json(const std::optional<LogEstimate>& estimate) {
  if (!estimate) return nullptr;
  const double reach = std::exp(kNormal95 * estimate->log_sigma);
  return {{"value", number(estimate->value)},
          {"ci95", pair_of(Interval{estimate->value / reach, estimate->value * reach})}};
}

Json load_change_json(const LoadChange& change) {
  return {{"test", change.test},
          {"points", change.points},
          {"takes_base", change.takes_base},
          {"takes_loaded", change.takes_loaded},
          {"change_db", number(change.change_db)},
          {"ci95_db", Json::array({number(change.low_db), number(change.high_db)})},
          {"order_ratio", estimate_json(change.order_ratio)}};
}

Json suspect_json(const Suspect& suspect) {
  return {
      {"source", text_or_null(suspect.source)},
      {"component", suspect.component},
      {"probability", number(suspect.probability)},
      {"causes",
       list_of(suspect.causes,
               [](const Suspect::Cause& cause) {
                 return Json{{"id", cause.id}, {"probability", number(cause.probability)}};
               })},
      {"evidence", list_of(suspect.evidence, [](const EvidenceItem& item) {
         return Json{{"id", item.id}, {"text", item.text}, {"weight_db", number(item.weight_db)}};
       })}};
}

Json next_test_json(const NextTest& test) {
  return {{"test", test.test},
          {"id", test.id},
          {"information_bits", number(test.information_bits)},
          {"minutes", number(test.minutes)},
          {"why", test.why},
          {"cautions", test.cautions}};
}

Json repair_json(const RepairOption& repair) {
  return {{"repair", repair.repair},
          {"component", repair.component},
          {"probability", number(repair.probability)},
          {"hours", number(repair.hours)},
          {"irreversible", repair.irreversible},
          {"warning", text_or_null(repair.warning)}};
}

Json verdict_json(const Verdict& verdict) {
  return {{"about", verdict.about ? Json(*verdict.about) : Json(nullptr)},
          {"words", text_or_null(verdict.about_words)},
          {"state", inquiry_name(verdict.state)},
          {"conclusion", text_or_null(verdict.conclusion)},
          {"contradictions", verdict.contradictions},
          {"remarks", verdict.remarks},
          {"whatever_howls", verdict.whatever_howls},
          {"expected_repair_hours",
           verdict.repairs.empty() ? Json(nullptr) : number(verdict.expected_repair_hours)}};
}

}  // namespace

std::string analysis_json(const Case& value, const Analysis& analysis) {
  const std::string& reference = analysis.level_reference;
  const Json document{
      {"schema", "howlpoint.analysis/1"},
      {"program", std::string("howlpoint ") + version},
      {"case", {{"title", value.title}, {"profile", text_or_null(value.profile)}}},
      {"takes", list_of(analysis.takes, take_json)},
      {"tones",
       list_of(analysis.tones, [&](const ToneResult& tone) { return tone_json(tone, reference); })},
      {"families", list_of(analysis.families, family_json)},
      {"impacts", list_of(analysis.impacts, impact_json)},
      {"suspect_band", band_json(analysis.suspect_band)},
      {"ranking",
       list_of(analysis.ranking,
               [&](const RankedPoint& ranked) { return ranked_json(ranked, reference); })},
      {"load_changes", list_of(analysis.load_changes, load_change_json)},
      {"suspects", list_of(analysis.verdict.suspects, suspect_json)},
      {"next_tests", list_of(analysis.verdict.next_tests, next_test_json)},
      {"repairs", list_of(analysis.verdict.repairs, repair_json)},
      {"verdict", verdict_json(analysis.verdict)},
      {"warnings", analysis.warnings},
      {"cautions", analysis.cautions}};
  constexpr int indent = 2;
  return document.dump(indent, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace howl
