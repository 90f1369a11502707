#include "src/analysis/quality.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "dsp/take_quality.h"
#include "dsp/window.h"
#include "src/analysis/reference_channel.h"

namespace howl {

namespace {

constexpr double kSpoiltByClipping = 0.01;
constexpr double kSpoiltByGaps = 0.5;
constexpr double kHumShare = 0.01;
constexpr double kDoubtfulHumShare = 0.1;
constexpr double kRumbleShare = 0.3;
constexpr double kFaintPeak = 0.001;
constexpr double kCoarseDb = 6.0;
constexpr double kOffset = 0.02;
constexpr double kLeastOffset = 0.002;
constexpr double kDoubtfulOffset = 0.1;
constexpr double kShortestHold = 3.0;
constexpr double kFewestTurns = 32.0;
constexpr double kQuickestDoubling = 3.0;
constexpr double kDropoutMargin = 0.01;
constexpr double kKnockMargin = 0.05;
constexpr double kHeardError = 0.002;  // of a speed from sound, as trials say

using Finding = std::optional<QualityFinding>;

double to_db(double amplitude) { return 20.0 * std::log10(amplitude); }

TimeSpans whole(const TakeQuality& q) { return {{0.0, q.seconds}}; }

TimeSpans together(const TimeSpans& a, const TimeSpans& b) {
  TimeSpans all = a;
  all.insert(all.end(), b.begin(), b.end());
  return all;
}

Severity severity_of_gaps(double share) {
  return share > kSpoiltByGaps ? Severity::spoilt : Severity::doubt;
}

/// "0.4 s from 1.6 s on", "1.2 s in 3 places from 0.5 s on".
std::string for_how_long(const TimeSpans& spans) {
  const std::string places =
      spans.size() > 1 ? fmt::format(" in {} places", spans.size()) : std::string{};
  return fmt::format("{:.1f} s{} from {:.1f} s on", covered(spans), places, spans.front().low);
}

std::string percent(double share) {
  return share < 0.1 ? fmt::format("{:.2g} %", 100.0 * share)
                     : fmt::format("{:.0f} %", 100.0 * share);
}

Finding clipping(const TakeQuality& q) {
  const FlatTops& flat = q.clipping;
  if (flat.spans.empty()) return std::nullopt;
  const double share = static_cast<double>(flat.samples) / (q.seconds * q.sample_rate);
  const bool full_scale = flat.ceiling >= 0.985;
  return QualityFinding{
      QualityKind::clipped,
      flat.spans,
      share,
      fmt::format("clipped{}: {} {} cut off ({} of the samples); true levels are higher, and "
                  "harmonics may be false",
                  full_scale ? std::string{}
                             : fmt::format(" ahead of the recorder, at {:.1f} dB re full scale",
                                           to_db(flat.ceiling)),
                  flat.runs, flat.runs == 1 ? "top" : "tops", percent(share)),
      full_scale ? "record again with less gain"
                 : "record again with less gain at the microphone or its preamplifier",
      share >= kSpoiltByClipping ? Severity::spoilt : Severity::doubt};
}

Finding over_full_scale(const TakeQuality& q) {
  if (q.peak <= 1.0) return std::nullopt;
  return QualityFinding{
      QualityKind::over_full_scale,
      whole(q),
      1.0,
      fmt::format("reaches {:.1f} dB over full scale, which a float file keeps", to_db(q.peak)),
      "take its gain down before another program saves it as whole numbers",
      Severity::note};
}

/// Places where something is missing, as they are left out.
TimeSpans dropout_spans(const LostSamples& lost) {
  return merged(together(together(lost.stuck, lost.repeated), lost.jumps), kDropoutMargin);
}

Finding dropouts(const TakeQuality& q) {
  const TimeSpans spans = dropout_spans(q.lost);
  if (spans.empty()) return std::nullopt;
  const double share = covered(spans) / q.seconds;
  return QualityFinding{
      QualityKind::dropouts,
      spans,
      share,
      spans.size() == 1
          ? fmt::format("sound is missing at {:.2f} s (the recorder lost samples); left out",
                        spans.front().low + kDropoutMargin)
          : fmt::format(
                "sound is missing in {} places, first at {:.2f} s (the recorder lost samples); "
                "left out",
                spans.size(), spans.front().low + kDropoutMargin),
      "close other programs, use a larger buffer or another cable, and record again",
      severity_of_gaps(share)};
}

/// Silence that is a dropout is not also lost contact.
TimeSpans lost_contact_spans(const TakeQuality& q) {
  TimeSpans spans = q.contact.lost;
  std::erase_if(spans, [&](const Interval& span) {
    double stuck = 0.0;
    for (const Interval& s : q.lost.stuck)
      stuck += std::max(0.0, std::min(s.high, span.high) - std::max(s.low, span.low));
    return stuck > 0.5 * span.width();
  });
  return spans;
}

Finding contact_lost(const TakeQuality& q) {
  const TimeSpans spans = lost_contact_spans(q);
  if (spans.empty()) return std::nullopt;
  const double share = covered(spans) / q.seconds;
  return QualityFinding{QualityKind::contact_lost,
                        spans,
                        share,
                        "contact lost for about " + for_how_long(spans) + "; left out",
                        "hold the probe still and record again",
                        severity_of_gaps(share)};
}

Finding contact_loose(const TakeQuality& q) {
  const TimeSpans& spans = q.contact.loose;
  if (spans.empty()) return std::nullopt;
  const double share = covered(spans) / q.seconds;
  return QualityFinding{
      QualityKind::contact_loose,
      spans,
      share,
      fmt::format("contact loose for about {} (high frequencies {:.0f} dB down); left out",
                  for_how_long(spans), q.contact.loose_drop_db),
      "press the probe on firmly, square to the surface, and record again",
      severity_of_gaps(share)};
}

Finding knocks(const TakeQuality& q) {
  const TimeSpans& spans = q.contact.knocks;
  if (spans.empty()) return std::nullopt;
  const double share = covered(spans) / q.seconds;
  const std::string count =
      spans.size() == 1 ? "a knock at" : fmt::format("{} knocks, first at", spans.size());
  return QualityFinding{
      QualityKind::knocks,
      spans,
      share,
      fmt::format("{} {:.1f} s (hand, cable or tool); left out", count, spans.front().low),
      "keep hand and cable still while recording",
      severity_of_gaps(share)};
}

Finding hum(const TakeQuality& q) {
  const auto& found = q.slow.hum;
  if (!found) return std::nullopt;
  const double share = found->power / q.power_above_rumble;
  if (share < kHumShare) return std::nullopt;
  if (found->may_be_engine)
    return QualityFinding{
        QualityKind::hum_or_engine,
        whole(q),
        1.0,
        fmt::format("lines at multiples of {:.0f} Hz: mains hum or engine orders, which cannot be "
                    "told at this engine speed",
                    found->mains_hz),
        "record at a speed 100 rpm higher too",
        Severity::note};
  return QualityFinding{
      QualityKind::hum,
      whole(q),
      1.0,
      fmt::format("mains hum at {:.0f} Hz and its multiples, {} of the power", found->mains_hz,
                  percent(std::min(1.0, share))),
      "run the recorder from its battery, or keep its cables away from mains leads and chargers",
      share >= kDoubtfulHumShare ? Severity::doubt : Severity::note};
}

Finding rumble(const TakeQuality& q) {
  const double share = q.slow.seconds > 0.0 ? covered(q.slow.rumble) / q.slow.seconds : 0.0;
  if (share < kRumbleShare) return std::nullopt;
  return QualityFinding{
      QualityKind::rumble,
      q.slow.rumble,
      share,
      fmt::format("rumble below 40 Hz (wind, or the hand) is 10 dB and more above all else for "
                  "{:.1f} s",
                  covered(q.slow.rumble)),
      "hold probe and cable still and out of the wind, or switch a low cut on",
      Severity::doubt};
}

Finding faint_or_coarse(const TakeQuality& q) {
  if (q.peak < kFaintPeak)
    return QualityFinding{QualityKind::faint,
                          whole(q),
                          1.0,
                          fmt::format("faint: its peak is {:.0f} dB re full scale", to_db(q.peak)),
                          "see that the microphone is in contact and turn its gain up",
                          Severity::doubt};
  if (!q.over_rounding_db || *q.over_rounding_db >= kCoarseDb) return std::nullopt;
  return QualityFinding{
      QualityKind::coarse,
      whole(q),
      1.0,
      fmt::format("so quiet that the converter's steps (1/{:.0f} of full scale) cover the finer "
                  "noise",
                  1.0 / q.step),
      "turn the gain up, or record with 24 bits",
      Severity::doubt};
}

Finding offset(const TakeQuality& q) {
  const double off = std::abs(q.mean);
  if (off < kOffset && (off < kLeastOffset || off * off < q.power)) return std::nullopt;
  return QualityFinding{QualityKind::offset,
                        whole(q),
                        1.0,
                        fmt::format("sits {} of full scale off zero", percent(off)),
                        "harmless to the analysis, but it takes range: try another input or cable",
                        off >= kDoubtfulOffset ? Severity::doubt : Severity::note};
}

Finding short_hold(const TakeAudio& take) {
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  const bool turned_enough = take.engine_off || turns >= kFewestTurns;
  if (take.seconds >= kShortestHold && turned_enough) return std::nullopt;
  constexpr double blocks = 3.5;  // six half-overlapped blocks
  return QualityFinding{
      QualityKind::too_short,
      {{0.0, take.seconds}},
      1.0,
      fmt::format("short: {:.1f} s{}; tones closer than {:.1f} Hz run together", take.seconds,
                  take.engine_off ? "" : fmt::format(", {:.0f} revolutions", turns),
                  kHannNoiseBins * blocks / take.seconds),
      "record 10 s",
      Severity::doubt};
}

Finding short_sweep(const TakeAudio& take) {
  const SpeedCurve::Range range = speed_range(take);
  const double doubling = take.seconds / std::log2(range.high / range.low);
  if (doubling >= kQuickestDoubling) return std::nullopt;
  return QualityFinding{
      QualityKind::too_short,
      {{0.0, take.seconds}},
      1.0,
      fmt::format("quick: {:.0f} to {:.0f} rpm in {:.1f} s; tones smear as the speed rises, and "
                  "weak ones are lost",
                  range.low.value, range.high.value, take.seconds),
      "take 20 s for a sweep",
      Severity::doubt};
}

Finding no_reference(const TakeAudio& take) {
  if (!is_reference_the_probe(take)) return std::nullopt;
  return QualityFinding{
      QualityKind::no_reference,
      {{0.0, take.seconds}},
      1.0,
      "the reference channel holds the probe's own sound, not that of a second microphone; the "
      "take is used without a reference",
      "plug the second microphone into that channel's input, and record in stereo, not in mono",
      Severity::doubt};
}

TakeQuality measure(const TakeAudio& take) {
  std::optional<SpeedCurve> speed;
  // Where the sound settles another speed, the engine's orders lie at its multiples.
  const bool otherwise = take.heard_rpm && is_hold(take);
  if (!take.engine_off)
    speed = otherwise ? SpeedCurve::constant(Rpm(*take.heard_rpm), kHeardError) : take.speed;
  TakeQualityMeter meter(take.sample_rate, std::move(speed));
  take.stream([&](std::span<const float> chunk) { meter.push(chunk); });
  return meter.finish();
}

}  // namespace

std::string_view quality_kind_name(QualityKind kind) {
  switch (kind) {
    case QualityKind::clipped:
      return "clipped";
    case QualityKind::over_full_scale:
      return "over-full-scale";
    case QualityKind::dropouts:
      return "dropouts";
    case QualityKind::contact_lost:
      return "contact-lost";
    case QualityKind::contact_loose:
      return "contact-loose";
    case QualityKind::knocks:
      return "knocks";
    case QualityKind::hum:
      return "hum";
    case QualityKind::hum_or_engine:
      return "hum-or-engine";
    case QualityKind::rumble:
      return "rumble";
    case QualityKind::faint:
      return "faint";
    case QualityKind::coarse:
      return "coarse";
    case QualityKind::offset:
      return "offset";
    case QualityKind::too_short:
      return "too-short";
    case QualityKind::no_reference:
      break;
  }
  return "no-reference";
}

std::string_view severity_name(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::doubt:
      return "doubt";
    case Severity::spoilt:
      break;
  }
  return "spoilt";
}

std::string warning_text(const QualityFinding& finding) {
  return finding.text + "; " + finding.remedy;
}

std::vector<std::string> warning_texts(const std::vector<QualityFinding>& findings) {
  std::vector<std::string> texts;
  for (const QualityFinding& finding : findings)
    if (finding.severity != Severity::note) texts.push_back(warning_text(finding));
  return texts;
}

bool spoilt_by_clipping(const std::vector<QualityFinding>& findings) {
  return std::any_of(findings.begin(), findings.end(), [](const QualityFinding& f) {
    return f.kind == QualityKind::clipped && f.severity == Severity::spoilt;
  });
}

QualityOfTake judge_quality(const TakeAudio& take) {
  const TakeQuality q = measure(take);
  QualityOfTake judged;
  for (const Finding& finding :
       {clipping(q), dropouts(q), contact_lost(q), contact_loose(q), knocks(q), faint_or_coarse(q),
        is_hold(take) ? short_hold(take) : short_sweep(take), rumble(q), hum(q), offset(q),
        over_full_scale(q), no_reference(take)})
    if (finding) judged.findings.push_back(*finding);
  std::stable_sort(
      judged.findings.begin(), judged.findings.end(),
      [](const QualityFinding& a, const QualityFinding& b) { return a.severity > b.severity; });

  judged.left_out =
      merged(together(together(dropout_spans(q.lost), merged(q.contact.knocks, kKnockMargin)),
                      together(q.contact.lost, q.contact.loose)));
  judged.clipped_share = q.clipping.share_within;
  judged.clipped_on_one_side = q.clipping.one_sided;
  return judged;
}

std::vector<QualityFinding> heed_quality(TakeAudio& take) {
  QualityOfTake quality = judge_quality(take);
  take.left_out = merged(together(quality.left_out, without_speed(take)));
  take.clipped_share = quality.clipped_share;
  if (std::any_of(quality.findings.begin(), quality.findings.end(),
                  [](const QualityFinding& f) { return f.kind == QualityKind::no_reference; }))
    take.stream_both = {};
  return std::move(quality.findings);
}

}  // namespace howl
