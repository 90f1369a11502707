#include "src/report/comparison_json.h"

#include "src/report/json_values.h"
#include "src/version.h"

namespace howl {
namespace {

Json pair_of(const ChangeRange& range) {
  return Json::array({number(range.low_db), number(range.high_db)});
}

Json measured_json(const MeasuredChange& m) {
  return {{"before_db", number(m.before_db)},
          {"after_db", number(m.after_db)},
          {"before_below_db", number(m.before_below_db)},
          {"after_below_db", number(m.after_below_db)},
          {"change_db", number(m.change_db)},
          {"change_ci95_db", pair_of(m.ci95_db)},
          {"relative_change_db", number(m.relative_change_db)},
          {"relative_change_ci95_db", pair_of(m.relative_ci95_db)}};
}

Json measured_json(const std::optional<MeasuredChange>& m) {
  return m ? measured_json(*m) : Json(nullptr);
}

Json at_json(const ToneAtPlace& at) {
  return {{"place", at.place},
          {"measured", measured_json(at.measured)},
          {"tone_to_noise_before_db", number(at.tone_to_noise_before_db)},
          {"tone_to_noise_after_db", number(at.tone_to_noise_after_db)},
          {"limit_db", number(at.limit_db)},
          {"prominent_before", at.prominent_before},
          {"prominent_after", at.prominent_after}};
}

Json multiple_json(const std::optional<MultipleOf>& multiple) {
  if (!multiple) return nullptr;
  return {{"number", multiple->number}, {"base_id_after", multiple->base_id_after}};
}

Json compared_tone_json(const ComparedTone& tone) {
  return {{"id_before", text_or_null(tone.id_before)},
          {"id_after", text_or_null(tone.id_after)},
          {"order", number(tone.order)},
          {"frequency_hz", Json::array({tone.frequency_hz.low, tone.frequency_hz.high})},
          {"behaviour", behaviour_name(tone.behaviour)},
          {"combustion", tone.combustion},
          {"remark", text_or_null(tone.remark)},
          {"found_before", tone.found_before},
          {"found_after", tone.found_after},
          {"firing_order_before", number(tone.firing_order_before)},
          {"multiple_of", multiple_json(tone.multiple)},
          {"change", change_name(tone.change)},
          {"why", text_or_null(tone.why)},
          {"unsettled_at", tone.unsettled_at ? Json(*tone.unsettled_at) : Json(nullptr)},
          {"measured", measured_json(tone.measured)},
          {"prominent_before", tone.prominent_before},
          {"prominent_after", tone.prominent_after},
          {"places_heard", tone.places_heard},
          {"places_proven", tone.places_proven},
          {"at", list_of(tone.at, at_json)}};
}

Json band_json(const std::optional<ComparedBand>& band) {
  if (!band) return nullptr;
  const bool in_hertz = band->band.unit == AnalysisRequest::Band::Unit::hertz;
  return {{"unit", in_hertz ? "hz" : "order"},
          {"low", number(band->band.range.low)},
          {"high", number(band->band.range.high)},
          {"chosen_by", band->chosen_by_user ? "user" : "tool"},
          {"change", change_name(band->change)},
          {"measured", measured_json(band->measured)}};
}

Json place_json(const ComparedPlace& place) {
  return {{"point", place.point},
          {"condition", place.condition},
          {"takes_before", place.takes_before},
          {"takes_after", place.takes_after},
          {"rest_change_db", number(place.rest_change_db)},
          {"firing_change_db", number(place.firing_change_db)},
          {"trusted", place.trusted},
          {"steady", place.steady},
          {"doubts", place.doubts},
          {"record_again", text_or_null(place.record_again)}};
}

Json lone_json(const LoneTakes& lone) {
  return {{"point", lone.point}, {"condition", lone.condition}, {"takes", lone.takes}};
}

Json case_json(const Case& value) {
  return {{"title", value.title}, {"profile", text_or_null(value.profile)}};
}

}  // namespace

std::string comparison_json(const Case& before, const Case& after, const Comparison& comparison) {
  const Json document{{"schema", "howlpoint.comparison/1"},
                      {"program", std::string("howlpoint ") + version},
                      {"before", case_json(before)},
                      {"after", case_json(after)},
                      {"verdict", comparison.verdict},
                      {"howl", change_name(comparison.howl)},
                      {"level_reference", comparison.level_reference},
                      {"tones", list_of(comparison.tones, compared_tone_json)},
                      {"suspect_band", band_json(comparison.band)},
                      {"places", list_of(comparison.places, place_json)},
                      {"only_before", list_of(comparison.only_before, lone_json)},
                      {"only_after", list_of(comparison.only_after, lone_json)},
                      {"record_next", comparison.record_next},
                      {"warnings", comparison.warnings}};
  constexpr int indent = 2;
  return document.dump(indent, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace howl
