#include "src/analysis/analyse.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <span>
#include <string>
#include <string_view>
#include <utility>

#include "dsp/statistics.h"
#include "src/analysis/background.h"
#include "src/analysis/background_tones.h"
#include "src/analysis/cylinders_heard.h"
#include "src/analysis/impacts.h"
#include "src/analysis/like_takes.h"
#include "src/analysis/load_changes.h"
#include "src/analysis/masked_takes.h"
#include "src/analysis/probe_response.h"
#include "src/analysis/quality.h"
#include "src/analysis/ranking.h"
#include "src/analysis/reference_channel.h"
#include "src/analysis/speed_check.h"
#include "src/analysis/suspect_band.h"
#include "src/analysis/take_survey.h"
#include "src/analysis/tone_results.h"
#include "src/analysis/tone_tracks.h"
#include "src/audio/recording.h"
#include "src/files/sha256.h"
#include "src/profile/load_tests.h"
#include "src/speed/speed_of_take.h"

namespace howl {

namespace {

constexpr std::size_t kReadChunk = 1U << 16U;

/// How far a speed record of each kind may lag the sound, one standard deviation in s; common
/// practice.
double lag_of(const SpeedSource& source) {
  if (std::holds_alternative<LoggedSpeed>(source)) return 0.15;
  if (std::holds_alternative<EnteredRamp>(source)) return 0.3;
  return 0.0;
}

std::optional<Interval> road_range(const TakeAudio& take) {
  if (!take.road.empty()) {
    const auto [low, high] = std::ranges::minmax(take.road, {}, &RoadSpeedPoint::kmh);
    return Interval{low.kmh, high.kmh};
  }
  if (!take.road_speed_kmh) return std::nullopt;
  return Interval{*take.road_speed_kmh, *take.road_speed_kmh};
}

TakeResult take_result(const TakeAudio& take, std::vector<std::string> warnings) {
  TakeResult result;
  result.id = take.id;
  result.point = take.point;
  result.load = take.load;
  result.speed_source = take.speed_source;
  result.engine_off = take.engine_off;
  result.background = take.background || take.engine_off;
  if (!take.engine_off) {
    const SpeedCurve::Range range = speed_range(take);
    result.rpm_min = range.low.value;
    result.rpm_max = range.high.value;
  }
  result.road_kmh = road_range(take);
  if (take.lag_taken_out) result.lag = SpeedLag{*take.lag_taken_out, kNormal95 * take.lag_sigma};
  result.seconds = take.seconds;
  result.warnings = std::move(warnings);
  return result;
}

struct Survey {
  std::vector<Sighting> sightings;
  std::vector<TakeResult> takes;
};

Survey survey(std::vector<TakeAudio>& takes, const Progress& progress) {
  Survey all;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    progress(0.6 * static_cast<double>(i) / static_cast<double>(takes.size()),
             "looking for tones in " + takes[i].id);
    std::vector<QualityFinding> quality = heed_quality(takes[i]);
    TakeSurvey one = survey_take(takes[i], i);
    std::move(one.sightings.begin(), one.sightings.end(), std::back_inserter(all.sightings));
    all.takes.push_back(take_result(takes[i], std::move(one.warnings)));
    all.takes.back().quality = std::move(quality);
  }
  return all;
}

/// A background without tones is nothing to warn of.
Survey survey_background(std::vector<TakeAudio>& takes, const Progress& progress) {
  Survey found = survey(takes, [&](double, std::string_view stage) { progress(0.6, stage); });
  for (TakeResult& take : found.takes) take.warnings.clear();
  return found;
}

/// Results in the order in which the takes came.
std::vector<TakeResult> in_order(std::vector<TakeResult> results,
                                 const std::vector<std::string>& order) {
  const auto place = [&](const TakeResult& result) {
    return std::find(order.begin(), order.end(), result.id);
  };
  std::stable_sort(results.begin(), results.end(),
                   [&](const TakeResult& a, const TakeResult& b) { return place(a) < place(b); });
  return results;
}

std::vector<std::string> ids_of(const std::vector<TakeAudio>& takes) {
  std::vector<std::string> ids;
  for (const TakeAudio& take : takes) ids.push_back(take.id);
  return ids;
}

using Readings = std::vector<std::optional<ReferenceReading>>;

Readings read_references(const std::vector<TakeAudio>& takes, const AnalysisRequest::Band& band) {
  Readings readings;
  for (const TakeAudio& take : takes) readings.push_back(read_reference(take, band));
  return readings;
}

/// What the reference channels showed; `readings` and `corrections_db` are empty or one a take.
void describe_references(std::vector<TakeResult>& results, const std::vector<TakeAudio>& takes,
                         const Readings& readings,
                         const std::vector<std::optional<double>>& corrections_db) {
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!takes[i].stream_both) continue;
    ReferenceResult& reference = results[i].reference.emplace();
    reference.delay_s = reference_delay(takes[i]);
    if (!corrections_db.empty()) reference.correction_db = corrections_db[i];
    if (readings.empty() || !readings[i]) continue;
    reference.level_db = readings[i]->level_db;
    reference.coherence = readings[i]->coherence;
  }
}

std::vector<std::string> usual_cautions() {
  return {
      "Keep probe, cable, sleeves and hair away from belts, fans and shafts; set the probe on "
      "housings only.",
      "Vehicle on stands or a lift made for it, never on a jack alone; wheels chocked, brake on.",
      "Exhaust extracted; hot parts and fluid; hearing protection at a running engine.",
      "The vehicle's service manual, local rules and licensed practice come before anything "
      "printed here.",
  };
}

/// A point may be loud in the band with noise alone. Where the howl itself is not heard at the
/// loudest point, the level there says nothing about where the howl comes from.
void distrust_unheard(Analysis& analysis, const std::vector<std::string>& heard_in) {
  if (analysis.ranking.empty() || !analysis.ranking.front().level_db) return;
  RankedPoint& top = analysis.ranking.front();
  const bool heard = std::any_of(top.takes.begin(), top.takes.end(), [&](const std::string& id) {
    return std::find(heard_in.begin(), heard_in.end(), id) != heard_in.end();
  });
  if (heard) return;
  for (RankedPoint& point : analysis.ranking) point.call = Call::no_difference;
  analysis.warnings.push_back(
      fmt::format("{} is loudest in the band, but the howl itself is not heard there, only noise; "
                  "compare the points where it is heard, or give a narrower band",
                  top.point));
}

/// Takes in which the engine's own line in the band that was proposed covers the howl.
std::vector<bool> covered_by_engine(const std::vector<TakeAudio>& takes, const Analysis& analysis) {
  const ToneResult* const howl = first_howl(analysis.tones);
  if (howl == nullptr || howl->behaviour != Behaviour::speed_locked) return {};
  return masked_takes(takes, *howl, analysis.tones, analysis.suspect_band->band);
}

void warn_above_probe_range(Analysis& analysis) {
  if (!analysis.suspect_band) return;
  const AnalysisRequest::Band& band = analysis.suspect_band->band;
  double highest = band.range.high;
  if (band.unit == AnalysisRequest::Band::Unit::order) {
    double rpm = 0.0;
    for (const TakeResult& t : analysis.takes) rpm = std::max(rpm, t.rpm_max);
    highest = frequency_of(Order(band.range.high), Rpm(rpm)).value;
  }
  if (highest > kHandProbeLimitHz)
    analysis.warnings.push_back(
        fmt::format("the suspect band reaches {:.0f} Hz; a hand-held probe is doubtful above about "
                    "2 kHz (common practice), "
                    "so treat level differences there with care",
                    highest));
}

}  // namespace

TakeAudio open_take(const std::filesystem::path& folder, const Take& take,
                    std::optional<int> cylinders, std::vector<std::string>& warnings) {
  TakeSpeed speed = speed_of_take(folder, take, cylinders);
  warnings.insert(warnings.end(), speed.warnings.begin(), speed.warnings.end());
  TakeAudio audio;
  audio.id = take.id;
  audio.point = take.point;
  audio.load = take.load;
  audio.road_speed_kmh = take.road_speed_kmh;
  audio.road = std::move(speed.road);
  audio.sample_rate = take.sample_rate;
  audio.seconds = static_cast<double>(take.frames) / take.sample_rate;
  audio.speed = std::move(speed.curve);
  audio.speed_source = speed.source;
  audio.speed_known = std::move(speed.known);
  audio.lag_sigma = lag_of(take.speed);
  audio.engine_off = std::holds_alternative<EngineOff>(take.speed);
  audio.background = take.background;
  audio.stream = [file = folder / take.recording,
                  channel = take.channel](const std::function<void(std::span<const float>)>& to) {
    for_each_chunk(file, channel, kReadChunk, to);
  };
  if (take.reference_channel)
    audio.stream_both = [file = folder / take.recording, channel = take.channel,
                         reference = *take.reference_channel](const TakeAudio::TakeBoth& to) {
      for_each_chunk_of_two(file, channel, reference, kReadChunk, to);
    };
  align_log(audio, warnings);
  return audio;
}

Analysis analyse_takes(std::vector<TakeAudio> all, std::optional<int> cylinders,
                       const AnalysisRequest& request, const Progress& progress) {
  mark_unknown_motion(all);
  const std::vector<std::string> order = ids_of(all);
  auto [takes, background] = sort_out_background(std::move(all));
  Analysis analysis;
  Survey found = survey(takes, progress);
  Survey found_in_background = survey_background(background, progress);
  analysis.takes = std::move(found.takes);
  progress(0.6, "following tones from take to take");
  std::vector<ToneTrack> tracks = link_tracks(std::move(found.sightings));
  mark_background_tones(tracks, takes, background, found_in_background.sightings);
  ToneFindings findings = tone_results(tracks, takes, cylinders);
  analysis.tones = std::move(findings.tones);
  analysis.families = std::move(findings.families);
  if (findings.left_out > 0)
    analysis.warnings.push_back(
        fmt::format("{} more weak tones were found and left out", findings.left_out));
  analysis.cylinder_doubt = doubt_of_cylinders(analysis.tones, cylinders);
  if (!analysis.cylinder_doubt.empty()) analysis.warnings.push_back(analysis.cylinder_doubt);
  analysis.impacts = find_impacts(takes, analysis.tones, progress);

  std::optional<BandProposal> proposal;
  if (request.band) {
    analysis.suspect_band = SuspectBand{*request.band, true, "given by the user"};
  } else if ((proposal = propose_band(analysis.tones))) {
    analysis.suspect_band = proposal->band;
  } else if (!takes.empty()) {
    analysis.warnings.emplace_back(
        "no howl was found, so there is nothing to rank; give a band to compare "
        "the points all the same");
  }
  if (analysis.suspect_band) {
    progress(0.7, "comparing the probe points");
    const Readings readings = read_references(takes, analysis.suspect_band->band);
    RankingAids aids{background, readings};
    if (proposal) aids.masked = covered_by_engine(takes, analysis);
    Ranking ranking = rank_points(takes, analysis.suspect_band->band,
                                  proposal ? proposal->speeds : std::nullopt, aids);
    describe_references(analysis.takes, takes, readings, ranking.corrections_db);
    analysis.ranking = std::move(ranking.points);
    std::move(ranking.warnings.begin(), ranking.warnings.end(),
              std::back_inserter(analysis.warnings));
  } else {
    describe_references(analysis.takes, takes, {}, {});
  }
  if (analysis.suspect_band)
    analysis.load_changes = load_changes(takes, analysis.suspect_band->band,
                                         tone_in_band(analysis.tones, analysis.suspect_band->band));
  if (proposal) distrust_unheard(analysis, proposal->takes);
  warn_above_probe_range(analysis);
  std::move(found_in_background.takes.begin(), found_in_background.takes.end(),
            std::back_inserter(analysis.takes));
  analysis.takes = in_order(std::move(analysis.takes), order);
  analysis.cautions = usual_cautions();
  progress(1.0, "done");
  return analysis;
}

namespace {

/// Remembers how far the work is and says it again, so that whoever waits can also end it in the
/// middle of a long take.
class Pulse {
 public:
  explicit Pulse(const Progress& progress) : progress_(&progress) {}
  void beat(double fraction, std::string_view stage) {
    fraction_ = fraction;
    stage_ = stage;
    beat();
  }
  void beat() const { (*progress_)(fraction_, stage_); }

 private:
  const Progress* progress_;
  double fraction_{};
  std::string stage_;
};

/// A take that lets `pulse` beat with every chunk that is read of it.
TakeAudio with_pulse(TakeAudio take, const Pulse& pulse) {
  take.stream = [inner = std::move(take.stream), &pulse](const auto& to) {
    inner([&](std::span<const float> chunk) {
      pulse.beat();
      to(chunk);
    });
  };
  if (!take.stream_both) return take;
  take.stream_both = [inner = std::move(take.stream_both), &pulse](const auto& to) {
    inner([&](std::span<const float> probe, std::span<const float> reference) {
      pulse.beat();
      to(probe, reference);
    });
  };
  return take;
}

}  // namespace

Analysis analyse(const std::filesystem::path& folder, const Case& value,
                 const AnalysisRequest& request, const Progress& listener) {
  Pulse pulse(listener);
  const Progress progress = [&](double fraction, std::string_view stage) {
    pulse.beat(fraction, stage);
  };
  std::vector<TakeAudio> takes;
  std::vector<std::vector<std::string>> warnings;
  std::vector<std::vector<std::string>> against_speed;
  std::vector<SoundSpeed> sound_speeds;
  for (const Take& take : value.takes) {
    progress(0.3 * static_cast<double>(takes.size()) / static_cast<double>(value.takes.size()),
             "listening for the engine's speed in " + take.id);
    warnings.emplace_back();
    std::ranges::move(doubts_of_load(take.load), std::back_inserter(warnings.back()));
    against_speed.emplace_back();
    takes.push_back(with_pulse(open_take(folder, take, value.cylinders, warnings.back()), pulse));
    sound_speeds.push_back(takes.back().engine_off
                               ? SoundSpeed{}
                               : check_speed(takes.back(), value.cylinders, against_speed.back()));
    if (sha256_of_file(folder / take.recording) != take.sha256)
      warnings.back().emplace_back(
          "the recording was changed since it was added, and proves nothing; see howlpoint check");
  }
  const Progress rest = [&](double fraction, std::string_view stage) {
    progress(0.3 + 0.7 * fraction, stage);
  };
  Analysis analysis = analyse_takes(takes, value.cylinders, request, rest);
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!spoilt_by_clipping(analysis.takes[i].quality)) {
      analysis.takes[i].sound_speed = sound_speeds[i];
      warnings[i].insert(warnings[i].end(), against_speed[i].begin(), against_speed[i].end());
    }
    analysis.takes[i].warnings.insert(analysis.takes[i].warnings.begin(), warnings[i].begin(),
                                      warnings[i].end());
  }
  if (value.takes.empty())
    analysis.warnings.emplace_back("the case has no takes yet; add one with: howlpoint add");
  return analysis;
}

}  // namespace howl
