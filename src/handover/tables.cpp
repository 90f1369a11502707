#include "src/handover/tables.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <string_view>

#include "src/analysis/quality.h"
#include "src/case/find_take.h"
#include "src/case/load_words.h"
#include "src/report/result_words.h"

namespace howl::handover {
namespace {

DataValue known(double value) { return number_or_unknown(value); }
DataValue known(const std::optional<double>& value) { return value ? known(*value) : DataValue(); }
DataValue low_of(const std::optional<Interval>& range) {
  return range ? known(range->low) : DataValue();
}
DataValue high_of(const std::optional<Interval>& range) {
  return range ? known(range->high) : DataValue();
}
DataValue words(std::string_view text) {
  return text.empty() ? DataValue() : DataValue(std::string(text));
}
DataValue ids(const std::vector<std::string>& all) {
  return words(fmt::format("{}", fmt::join(all, " ")));
}

DataTable takes_data(const Case& value, const Analysis& analysis) {
  DataTable table{"takes",
                  "Takes, their speed and their files",
                  {{"take", "", "id"},
                   {"point", "", "probe point"},
                   {"load", "", "load state"},
                   {"background", "", "the suspect did not work"},
                   {"seconds", "s", "length"},
                   {"speed_source", "", "where the speed comes from"},
                   {"rpm_min", "rpm", "slowest; 0 with the engine off"},
                   {"rpm_max", "rpm", "fastest"},
                   {"road_speed_min", "km/h", "slowest; empty where not noted"},
                   {"road_speed_max", "km/h", "fastest"},
                   {"rpm_from_sound", "rpm", "mean, by the sound alone"},
                   {"rpm_from_sound_low", "rpm", "95 % interval"},
                   {"rpm_from_sound_high", "rpm", "95 % interval"},
                   {"disagreement_percent", "%", "sound against the speed noted"},
                   {"lag_s", "s", "how far a log ran behind the sound"},
                   {"reference_db", "dB", "reference microphone in the suspect band"},
                   {"correction_db", "dB", "added to the level of the probe"},
                   {"file", "", "inside the case"},
                   {"sha256", "", "of the file"},
                   {"added", "", "UTC"},
                   {"note", "", "as entered"}},
                  {}};
  for (const TakeResult& take : analysis.takes) {
    const Take* const stored = find_take(value, take.id);
    const auto reference = [&](std::optional<double> ReferenceResult::*what) {
      return take.reference ? known((*take.reference).*what) : DataValue();
    };
    table.rows.push_back({words(take.id),
                          words(take.point),
                          words(fmt::format("{}", fmt::join(load_pairs(take.load), "; "))),
                          take.background,
                          known(take.seconds),
                          words(take.speed_source),
                          known(take.rpm_min),
                          known(take.rpm_max),
                          low_of(take.road_kmh),
                          high_of(take.road_kmh),
                          known(take.sound_speed.rpm),
                          low_of(take.sound_speed.rpm_ci95),
                          high_of(take.sound_speed.rpm_ci95),
                          known(take.sound_speed.disagreement_percent),
                          take.lag ? known(take.lag->seconds) : DataValue(),
                          reference(&ReferenceResult::level_db),
                          reference(&ReferenceResult::correction_db),
                          stored != nullptr ? words(stored->recording) : DataValue(),
                          stored != nullptr ? words(stored->sha256) : DataValue(),
                          stored != nullptr ? words(stored->added) : DataValue(),
                          stored != nullptr ? words(stored->note) : DataValue()});
  }
  return table;
}

DataTable warnings_data(const Analysis& analysis) {
  DataTable table{
      "warnings",
      "Warnings",
      {{"about", "", "take or probe point; empty: the whole case"}, {"warning", "", ""}},
      {}};
  for (const std::string& text : analysis.warnings) table.rows.push_back({DataValue(), text});
  for (const TakeResult& take : analysis.takes)
    for (const std::string& text : warnings_of(take)) table.rows.push_back({take.id, text});
  for (const RankedPoint& point : analysis.ranking)
    for (const std::string& text : point.warnings) table.rows.push_back({point.point, text});
  return table;
}

DataTable tones_data(const Analysis& analysis) {
  DataTable table{"tones",
                  "Tones",
                  {{"tone", "", "id"},
                   {"order", "cycles a crank turn", "where speed-locked"},
                   {"order_low", "cycles a crank turn", "95 % interval"},
                   {"order_high", "cycles a crank turn", "95 % interval"},
                   {"frequency_min", "Hz", ""},
                   {"frequency_max", "Hz", ""},
                   {"behaviour", "", "of the pitch"},
                   {"drive", "", "of a speed-locked tone"},
                   {"pitch_exponent", "", "1: follows the engine, 0: keeps its pitch"},
                   {"pitch_exponent_low", "", "95 % interval"},
                   {"pitch_exponent_high", "", "95 % interval"},
                   {"rpm_min", "rpm", "where it was heard"},
                   {"rpm_max", "rpm", "where it was heard"},
                   {"level_db", "dB", "where it is loudest"},
                   {"typical_level_db", "dB", "median"},
                   {"tone_to_noise_db", "dB", "over the noise in its critical band"},
                   {"prominent", "", "tone-to-noise criterion of ECMA-418-1"},
                   {"combustion", "", "an order of the engine's firing"},
                   {"family", "", "of tones"},
                   {"above_probe_range", "", "reaches above 2 kHz"},
                   {"takes", "", "in which it was heard"},
                   {"remark", "", ""},
                   {"advice", "", "what would settle it"}},
                  {}};
  for (const ToneResult& tone : analysis.tones)
    table.rows.push_back(
        {tone.id,
         known(tone.order),
         low_of(tone.order_ci95),
         high_of(tone.order_ci95),
         known(tone.frequency_hz.low),
         known(tone.frequency_hz.high),
         words(behaviour_name(tone.behaviour)),
         tone.behaviour == Behaviour::speed_locked ? words(drive_name(tone.drive)) : DataValue(),
         known(tone.pitch_exponent),
         low_of(tone.pitch_exponent_ci95),
         high_of(tone.pitch_exponent_ci95),
         known(tone.rpm_span.low),
         known(tone.rpm_span.high),
         known(tone.level_db),
         known(tone.typical_level_db),
         known(tone.tone_to_noise_db),
         tone.prominent,
         tone.combustion,
         words(tone.family.value_or("")),
         tone.above_probe_range,
         ids(tone.takes),
         words(tone.remark),
         words(tone.advice)});
  return table;
}

DataTable tracks_data(const Analysis& analysis) {
  DataTable table{"tracks",
                  "Tones followed through speed",
                  {{"tone", "", ""},
                   {"take", "", ""},
                   {"time_s", "s", "into the take"},
                   {"rpm", "rpm", "engine speed"},
                   {"frequency_hz", "Hz", "pitch"},
                   {"sigma_hz", "Hz", "standard error of the pitch"},
                   {"level_db", "dB", ""}},
                  {}};
  for (const ToneResult& tone : analysis.tones)
    for (const TrackPoint& point : tone.track)
      table.rows.push_back({tone.id, point.take, known(point.time_s), known(point.rpm),
                            known(point.frequency_hz), known(point.sigma_hz),
                            known(point.level_db)});
  return table;
}

DataTable heard_speed_data(const Analysis& analysis) {
  DataTable table{"heard_speed",
                  "Engine speed by the sound alone",
                  {{"take", "", "only those whose sound settles it"},
                   {"time_s", "s", "into the take"},
                   {"rpm", "rpm", ""},
                   {"rpm_low", "rpm", "95 % interval"},
                   {"rpm_high", "rpm", "95 % interval"}},
                  {}};
  for (const TakeResult& take : analysis.takes)
    for (const SoundSpeed::Moment& moment : take.sound_speed.track)
      table.rows.push_back({take.id, known(moment.time_s), known(moment.rpm),
                            known(moment.ci95.low), known(moment.ci95.high)});
  return table;
}

DataTable laws_data(const Analysis& analysis) {
  DataTable table{"laws",
                  "Laws fitted to each tone",
                  {{"tone", "", ""},
                   {"law", "", "locked, belt, fixed, road, free"},
                   {"weight", "", "posterior, 0 to 1"},
                   {"reference_rpm", "rpm", ""},
                   {"frequency_at_reference_hz", "Hz", ""},
                   {"exponent", "", "of the pitch against speed"}},
                  {}};
  for (const ToneResult& tone : analysis.tones)
    for (const FittedLaw& law : tone.laws)
      table.rows.push_back({tone.id, law.name, known(law.weight), known(law.reference_rpm),
                            known(law.frequency_at_reference_hz), known(law.exponent)});
  return table;
}

std::string_view family_unit(FamilyResult::Unit unit) {
  if (unit == FamilyResult::Unit::order) return "cycles a crank turn";
  return unit == FamilyResult::Unit::hertz ? "Hz" : "cycles a metre";
}

DataTable families_data(const Analysis& analysis) {
  DataTable table{"families",
                  "Families of tones",
                  {{"family", "", "id"},
                   {"unit", "", "of base and spacing"},
                   {"base", "", ""},
                   {"spacing", "", "of sidebands"},
                   {"modulation_depth", "", "1: 100 %"},
                   {"level_db", "dB", "of all members"},
                   {"false_alarm", "", "chance that unrelated tones give it, at most"},
                   {"tone", "", "member"},
                   {"harmonic", "", "of the member"},
                   {"sideband", "", "of the member; 0: the harmonic itself"}},
                  {}};
  for (const FamilyResult& family : analysis.families)
    for (const FamilyResult::Member& member : family.members)
      table.rows.push_back({family.id, words(family_unit(family.unit)), known(family.base),
                            known(family.spacing), known(family.modulation_depth),
                            known(family.level_db), known(family.false_alarm), member.tone,
                            known(member.harmonic), known(member.sideband)});
  return table;
}

DataTable impacts_data(const Analysis& analysis) {
  DataTable table{"impacts",
                  "Blows and swells",
                  {{"impact", "", "id"},
                   {"order", "blows a crank turn", ""},
                   {"order_low", "blows a crank turn", "95 % interval"},
                   {"order_high", "blows a crank turn", "95 % interval"},
                   {"band_low", "Hz", "where it was found"},
                   {"band_high", "Hz", ""},
                   {"spectral_kurtosis", "", ""},
                   {"harmonics", "", "that stand out"},
                   {"modulation_depth", "", "1: 100 %"},
                   {"false_alarm_probability", "", ""},
                   {"takes", "", ""},
                   {"meaning", "", ""},
                   {"advice", "", ""}},
                  {}};
  for (const ImpactResult& impact : analysis.impacts)
    table.rows.push_back({impact.id, known(impact.order), known(impact.order_ci95.low),
                          known(impact.order_ci95.high), known(impact.band_hz.low),
                          known(impact.band_hz.high), known(impact.spectral_kurtosis),
                          known(impact.harmonics), known(impact.modulation_depth),
                          known(impact.false_alarm_probability), ids(impact.takes),
                          words(impact.meaning), words(impact.advice)});
  return table;
}

DataTable ranking_data(const Analysis& analysis) {
  DataTable table{"ranking",
                  "Probe points in the suspect band, loudest first",
                  {{"point", "", ""},
                   {"level_db", "dB", ""},
                   {"level_low_db", "dB", "95 % interval"},
                   {"level_high_db", "dB", "95 % interval"},
                   {"upper_bound", "", "the level is at most that"},
                   {"below_loudest_db", "dB", ""},
                   {"below_loudest_low_db", "dB", "95 % interval"},
                   {"below_loudest_high_db", "dB", "95 % interval"},
                   {"probability_loudest", "", "0 to 1"},
                   {"call", "", "how large the difference is"},
                   {"coherent_level_db", "dB", "of what the reference microphone hears too"},
                   {"takes", "", ""}},
                  {}};
  for (const RankedPoint& point : analysis.ranking)
    table.rows.push_back({point.point, known(point.level_db), low_of(point.ci95_db),
                          high_of(point.ci95_db), point.upper_bound, known(point.below_loudest_db),
                          low_of(point.below_loudest_ci95_db), high_of(point.below_loudest_ci95_db),
                          known(point.probability_loudest),
                          point.level_db ? words(call_name(point.call)) : DataValue(),
                          known(point.coherent_level_db), ids(point.takes)});
  return table;
}

DataTable loads_data(const Analysis& analysis) {
  DataTable table{"load_changes",
                  "Load tests",
                  {{"test", "", ""},
                   {"points", "", ""},
                   {"takes_base", "", ""},
                   {"takes_loaded", "", ""},
                   {"change_db", "dB", "loaded less base"},
                   {"change_low_db", "dB", "95 % interval"},
                   {"change_high_db", "dB", "95 % interval"},
                   {"order_ratio", "", "loaded over base"}},
                  {}};
  for (const LoadChange& change : analysis.load_changes)
    table.rows.push_back({change.test, words(fmt::format("{}", fmt::join(change.points, "; "))),
                          ids(change.takes_base), ids(change.takes_loaded), known(change.change_db),
                          known(change.low_db), known(change.high_db),
                          change.order_ratio ? known(change.order_ratio->value) : DataValue()});
  return table;
}

DataTable suspects_data(const Verdict& verdict) {
  DataTable table{"suspects",
                  "Suspects, likeliest first",
                  {{"source", "", ""}, {"component", "", ""}, {"probability", "", "0 to 1"}},
                  {}};
  for (const Suspect& suspect : verdict.suspects)
    table.rows.push_back(
        {words(suspect.source), words(suspect.component), known(suspect.probability)});
  return table;
}

DataTable causes_data(const Verdict& verdict) {
  DataTable table{"causes",
                  "Causes of each suspect",
                  {{"suspect", "", ""},
                   {"cause", "", ""},
                   {"probability", "", "of suspect and cause together, 0 to 1"}},
                  {}};
  for (const Suspect& suspect : verdict.suspects)
    for (const Suspect::Cause& cause : suspect.causes)
      table.rows.push_back({words(suspect_name(suspect)), cause.id, known(cause.probability)});
  return table;
}

DataTable evidence_data(const Verdict& verdict) {
  DataTable table{"evidence",
                  "Evidence for and against each suspect",
                  {{"suspect", "", ""},
                   {"evidence", "", "id"},
                   {"weight_db", "dB", "10 lg of the likelihood ratio; weights add up to the odds"},
                   {"text", "", ""}},
                  {}};
  for (const Suspect& suspect : verdict.suspects)
    for (const EvidenceItem& item : suspect.evidence)
      table.rows.push_back(
          {words(suspect_name(suspect)), item.id, known(item.weight_db), item.text});
  return table;
}

DataTable tests_data(const Verdict& verdict) {
  DataTable table{"next_tests",
                  "Next tests, most information a minute first",
                  {{"id", "", ""},
                   {"test", "", ""},
                   {"information_bits", "bit", ""},
                   {"minutes", "min", ""},
                   {"why", "", ""},
                   {"cautions", "", ""}},
                  {}};
  for (const NextTest& test : verdict.next_tests)
    table.rows.push_back({test.id, test.test, known(test.information_bits), known(test.minutes),
                          words(test.why),
                          words(fmt::format("{}", fmt::join(test.cautions, "; ")))});
  return table;
}

DataTable repairs_data(const Verdict& verdict) {
  DataTable table{"repairs",
                  "Repairs, in the order of least expected cost",
                  {{"repair", "", ""},
                   {"component", "", ""},
                   {"probability", "", "that it helps, 0 to 1"},
                   {"hours", "h", "cost, parts turned into hours"},
                   {"irreversible", "", ""},
                   {"warning", "", ""}},
                  {}};
  for (const RepairOption& repair : verdict.repairs)
    table.rows.push_back({repair.repair, repair.component, known(repair.probability),
                          known(repair.hours), repair.irreversible, words(repair.warning)});
  return table;
}

DataTable workshop_data(const Case& value) {
  DataTable table{"workshop_evidence",
                  "What the workshop found",
                  {{"key", "", ""}, {"value", "", ""}, {"note", "", ""}, {"added", "", "UTC"}},
                  {}};
  for (const WorkshopEvidence& entry : value.evidence)
    table.rows.push_back({entry.key, entry.value, words(entry.note), words(entry.added)});
  return table;
}

}  // namespace

std::vector<DataTable> tables_of(const Case& value, const Analysis& analysis) {
  return {takes_data(value, analysis),     warnings_data(analysis),
          heard_speed_data(analysis),      tones_data(analysis),
          tracks_data(analysis),           laws_data(analysis),
          families_data(analysis),         impacts_data(analysis),
          ranking_data(analysis),          loads_data(analysis),
          suspects_data(analysis.verdict), causes_data(analysis.verdict),
          evidence_data(analysis.verdict), tests_data(analysis.verdict),
          repairs_data(analysis.verdict),  workshop_data(value)};
}

}  // namespace howl::handover
