#include "src/analysis/quality.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "dsp/level_comparison.h"
#include "dsp/spectrum.h"
#include "src/analysis/analyse.h"
#include "src/analysis/band_levels.h"
#include "src/analysis/probe_response.h"
#include "src/analysis/tone_doubts.h"
#include "tests/trials/faulty_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

Recorded plain(double seconds, double rpm = 1130.0, double rate = 16000.0) {
  Random random(21);
  const SpeedCurve speed = SpeedCurve::constant(Rpm(rpm), 0.003);
  const auto count = static_cast<std::size_t>(seconds * rate);
  Recorded take{synth_pink(count, rate, 0.01, random), rate, speed};
  synth_family(take.samples, crank_turns(speed, count, rate),
               {.cycles_per_turn = 11.0, .harmonics = {{0.05, 0.0}}, .modulation = {}});
  return take;
}

TakeAudio opened(const Recorded& from) {
  TakeAudio take;
  take.id = "t01";
  take.point = "pan";
  take.sample_rate = from.sample_rate;
  take.seconds = from.seconds();
  take.speed = from.speed;
  take.speed_source = "entered";
  take.stream = [&from](const std::function<void(std::span<const float>)>& to) {
    to(from.samples);
  };
  return take;
}

}  // namespace

TEST_CASE("quality: a good take has no finding") {
  CHECK(judge(plain(6.0)).findings.empty());
  CHECK(judge(plain(6.0)).left_out.empty());
}

TEST_CASE("quality: every finding says what and what to do, once a kind, worst first") {
  Recorded take = plain(6.0);
  Random random(3);
  overdrive(take, 6.0, 1.0, random);
  lose_as_zeros(take, 2.0, 0.02);
  lose_as_zeros(take, 3.0, 0.02);
  const QualityOfTake quality = judge(take);
  REQUIRE(quality.findings.size() >= 2);
  CHECK(quality.findings[0].kind == QualityKind::clipped);
  CHECK(quality.findings[0].severity == Severity::spoilt);
  CHECK(quality.findings[1].kind == QualityKind::dropouts);
  CHECK(quality.findings[1].spans.size() == 2);
  for (const QualityFinding& f : quality.findings) {
    CHECK_FALSE(f.text.empty());
    CHECK_FALSE(f.remedy.empty());
    CHECK_FALSE(f.spans.empty());
  }
  CHECK(reaches_into(quality.left_out, 2.0, 2.02));
  CHECK_FALSE(reaches_into(quality.left_out, 4.0, 5.0));
  CHECK(warning_texts(quality.findings).front().find("record again with less gain") !=
        std::string::npos);
}

TEST_CASE("quality: too short is told by seconds and revolutions") {
  const QualityOfTake two = judge(plain(2.0));
  const QualityFinding* const found = finding(two, QualityKind::too_short);
  REQUIRE(found != nullptr);
  // 1130/60 · 2 = 37.7 revolutions; blocks of 2/3.5 s, 1.5 bins: 2.6 Hz.
  CHECK(found->text == "short: 2.0 s, 38 revolutions; tones closer than 2.6 Hz run together");
  CHECK(finding(judge(plain(3.5, 500.0)), QualityKind::too_short) != nullptr);
  CHECK(finding(judge(plain(3.5, 1130.0)), QualityKind::too_short) == nullptr);

  Recorded quick = plain(4.0);
  const std::vector<SpeedPoint> ends{{Seconds(0.0), Rpm(800.0)}, {Seconds(4.0), Rpm(3200.0)}};
  quick.speed = SpeedCurve::through(ends, 0.01);
  REQUIRE(finding(judge(quick), QualityKind::too_short) != nullptr);
}

TEST_CASE("quality: faint, coarse, offset, and float beyond full scale") {
  Recorded faint = plain(4.0);
  scale(faint, 0.0005 / static_cast<double>(peak_of(faint.samples)));
  CHECK(finding(judge(faint), QualityKind::faint)->text ==
        "faint: its peak is -66 dB re full scale");

  // White noise of a tenth of a step and a tone: rounding is what one hears.
  Recorded coarse = plain(4.0);
  Random random(8);
  coarse.samples = synth_noise(coarse.samples.size(), 0.1 / 32768.0, random);
  synth_add(coarse.samples,
            synth_tone(std::vector<double>(coarse.samples.size(), 313.7), 16000.0, 0.01));
  quantise(coarse, 16);
  REQUIRE(finding(judge(coarse), QualityKind::coarse) != nullptr);
  CHECK(finding(judge(coarse), QualityKind::coarse)->text.find("1/32768") != std::string::npos);

  Recorded off = plain(4.0);
  for (float& x : off.samples) x += 0.05F;
  CHECK(finding(judge(off), QualityKind::offset)->severity == Severity::note);

  Recorded over = plain(4.0);
  scale(over, 2.0 / static_cast<double>(peak_of(over.samples)));
  const QualityOfTake loud = judge(over);
  CHECK(finding(loud, QualityKind::over_full_scale)->text ==
        "reaches 6.0 dB over full scale, which a float file keeps");
  CHECK(finding(loud, QualityKind::clipped) == nullptr);
  CHECK(warning_texts(loud.findings).empty());
}

TEST_CASE("quality: silence put in by the recorder is a dropout, not lost contact too") {
  Recorded take = plain(6.0);
  lose_as_zeros(take, 3.0, 0.5);
  const QualityOfTake quality = judge(take);
  CHECK(finding(quality, QualityKind::dropouts) != nullptr);
  CHECK(finding(quality, QualityKind::contact_lost) == nullptr);
}

TEST_CASE("probe: no doubt up to 2 kHz, then that of a resonance at 6 kHz or higher") {
  CHECK(probe_gain_db(2000.0) == Interval{0.0, 0.0});
  // 1/(1 − (1/3)²) = 1.125: the 1.02 dB of a single degree of freedom at f0/3.
  CHECK(probe_gain_db(2000.1).high == doctest::Approx(1.023).epsilon(0.001));
  CHECK(probe_gain_db(2000.1).low == 0.0);
  CHECK(probe_gain_db(3000.0).high == doctest::Approx(2.499).epsilon(0.001));  // 4/3
  CHECK(probe_gain_db(6000.0).high == doctest::Approx(20.0));
  // Above: 20 dB if f0 lies there, −9.54 dB (1/3) at twice 6 kHz if it does not.
  CHECK(probe_gain_db(12000.0).low == doctest::Approx(-9.542).epsilon(0.001));
  CHECK(probe_gain_db(12000.0).high == doctest::Approx(20.0));
}

TEST_CASE("levels: what is left out does not count, and clipping and probe widen the interval") {
  Recorded whole = plain(8.0);
  Recorded lost = plain(8.0);
  synth_dropout(lost.samples, lost.sample_rate, Seconds(2.0), Seconds(3.0));
  const AnalysisRequest::Band band{AnalysisRequest::Band::Unit::hertz, {180.0, 240.0}};
  TakeAudio take = opened(lost);
  const double before = mean(band_blocks(take, band).block_power);
  take.left_out = judge(lost).left_out;
  const double level = mean(band_blocks(opened(whole), band).block_power);
  CHECK(10.0 * std::log10(before / level) < -1.0);
  CHECK(10.0 * std::log10(mean(band_blocks(take, band).block_power) / level) ==
        doctest::Approx(0.0).epsilon(0.05).scale(1.0));

  take.left_out = {{0.0, 8.0}};
  CHECK(band_blocks(take, band).block_power.empty());
  CHECK(band_blocks(take, band).warnings.size() == 1);

  TakeAudio clipped = opened(whole);
  clipped.clipped_share = 0.5;  // half the time at the ceiling: a weak tone loses half, 6.02 dB
  CHECK(band_blocks(clipped, band).unsure_db.high == doctest::Approx(6.0206).epsilon(1e-4));
  CHECK(band_blocks(clipped, band).unsure_db.low == 0.0);
  const AnalysisRequest::Band high{AnalysisRequest::Band::Unit::hertz, {2900.0, 3000.0}};
  CHECK(band_blocks(opened(whole), high).unsure_db.low == doctest::Approx(-2.499).epsilon(0.001));
}

TEST_CASE("levels: a weak tone beside clipped noise loses what the share of clipped samples says") {
  // Gaussian noise clipped at 1 sigma spends 31.7 % at the ceiling (normal distribution), and a
  // weak tone in it keeps 68.3 % of its amplitude (Bussgang 1952): −3.31 dB.
  Random random(17);
  constexpr double rate = 16000.0;
  Recorded take{synth_noise(320000, 0.2, random), rate, SpeedCurve::constant(Rpm(1130.0), 0.003)};
  synth_add(take.samples, synth_tone(std::vector<double>(320000, 500.0), rate, 0.03));
  const PowerSpectrum open = welch_spectrum(take.samples, rate, {WindowKind::hann, 16384, 8192});
  synth_clip(take.samples, 0.2F);
  const PowerSpectrum shut = welch_spectrum(take.samples, rate, {WindowKind::hann, 16384, 8192});
  const std::size_t line = 512;  // 500 Hz
  CHECK(10.0 * std::log10(shut.power[line] / open.power[line]) ==
        doctest::Approx(-3.31).epsilon(0.08));
}

TEST_CASE(
    "comparison: what is unsure is added to the ends, and changes nothing where all is sure") {
  Random random(4);
  const auto blocks = [&](double power) {
    std::vector<double> values;
    for (int i = 0; i < 20; ++i) values.push_back(power * draw_chi_square(random, 20.0) / 20.0);
    return values;
  };
  std::vector<TakeBlocks> takes{{0, 0, blocks(4.0)}, {1, 0, blocks(1.0)}};
  const LevelComparison sure = compare_levels(takes, {});
  takes[1].unsure_db = {0.0, 3.0};
  const LevelComparison unsure = compare_levels(takes, {});
  CHECK(unsure.points[0].level_ci_db == sure.points[0].level_ci_db);
  CHECK(unsure.points[1].level_ci_db.low == sure.points[1].level_ci_db.low);
  CHECK(unsure.points[1].level_ci_db.high ==
        doctest::Approx(sure.points[1].level_ci_db.high + 3.0));
  CHECK(unsure.points[1].below_loudest_ci_db.low ==
        doctest::Approx(sure.points[1].below_loudest_ci_db.low - 3.0));
  CHECK(unsure.points[1].below_loudest_ci_db.high ==
        doctest::Approx(sure.points[1].below_loudest_ci_db.high));
  CHECK(unsure.points[0].probability_loudest < sure.points[0].probability_loudest);
}

TEST_CASE("analysis: harmonics that clipping made are marked, those of a clean take are not") {
  const auto analysed = [](bool clip) {
    Recorded take = plain(8.0);
    scale(take, 10.0);
    if (clip) synth_clip(take.samples, 0.3F);
    return analyse_takes({opened(take)}, 4, {}, [](double, std::string_view) {});
  };
  const auto marked = [](const Analysis& analysis) {
    int count = 0;
    for (const ToneResult& tone : analysis.tones) count += tone.clipping_product_of ? 1 : 0;
    return count;
  };
  const Analysis clipped = analysed(true);
  CHECK(marked(clipped) >= 1);
  // What they were made from leads, whatever stands out of less noise higher up.
  CHECK_FALSE(clipped.tones.front().clipping_product_of);
  for (const ToneResult& tone : clipped.tones) {
    // 1130 rpm, order 11: 207.2 Hz; clipping makes its odd multiples.
    if (!tone.clipping_product_of) continue;
    const double multiple = tone.frequency_hz.low / (11.0 * 1130.0 / 60.0);
    CHECK(std::abs(multiple - std::round(multiple)) < 0.02);
    CHECK(std::lround(multiple) >= 3);
    REQUIRE(tone.level_bounds_db);
    CHECK(tone.level_bounds_db->high > tone.level_db + 3.0);
  }
  REQUIRE(clipped.takes.front().quality.size() == 1);
  CHECK(clipped.takes.front().quality.front().kind == QualityKind::clipped);
  CHECK(marked(analysed(false)) == 0);
}

TEST_CASE("a hand-held probe amplifies by 1/|1 − (f/f0)²| above 2 kHz") {
  // One degree of freedom, worked by hand: 1.02 dB at f0/3. Just above, only the upper bound moves.
  CHECK(probe_gain_db(2000.0) == Interval{0.0, 0.0});
  const Interval third = probe_gain_db(std::nextafter(2000.0, 3000.0));
  CHECK(third.low == 0.0);
  CHECK(std::abs(third.high - 1.02) <= 0.005);
}

TEST_CASE("analysis: a tone above 2 kHz carries the mark and its level the bounds") {
  Recorded take = plain(8.0);
  synth_family(take.samples, crank_turns(take.speed, take.samples.size(), take.sample_rate),
               {.cycles_per_turn = 171.0, .harmonics = {{0.05, 0.0}}, .modulation = {}});
  const Analysis analysis = analyse_takes({opened(take)}, 4, {}, [](double, std::string_view) {});
  bool seen = false;
  for (const ToneResult& tone : analysis.tones) {
    const bool above = tone.frequency_hz.high > 2000.0;
    CHECK(tone.above_probe_range == above);
    CHECK(tone.level_bounds_db.has_value() == above);
    if (!above) continue;
    seen = true;
    // 171 · 1130/60 = 3220.5 Hz: 1/(1 − 0.2881) = 2.95 dB
    CHECK(tone.level_bounds_db->low == doctest::Approx(tone.level_db - 2.95).epsilon(0.002));
    CHECK(tone.level_bounds_db->high == tone.level_db);
  }
  CHECK(seen);
}

TEST_CASE("quality: with the engine off there are no revolutions, and hum is nothing else") {
  Recorded hush = plain(4.0, 1500.0);
  add_hum(hush, 50.0, 6.0);
  TakeAudio take = opened(hush);
  take.engine_off = true;
  const QualityOfTake quality = judge_quality(take);
  CHECK(finding(quality, QualityKind::hum) != nullptr);
  CHECK(finding(quality, QualityKind::hum_or_engine) == nullptr);
  const Recorded brief = plain(2.0);
  TakeAudio off = opened(brief);
  off.engine_off = true;
  const QualityOfTake shortly = judge_quality(off);
  REQUIRE(finding(shortly, QualityKind::too_short) != nullptr);
  CHECK(finding(shortly, QualityKind::too_short)->text ==
        "short: 2.0 s; tones closer than 2.6 Hz run together");
}

TEST_CASE("quality: what is heeded is what was judged") {
  Recorded spoilt = plain(6.0);
  Random random(3);
  lose_as_zeros(spoilt, 2.0, 0.02);
  overdrive(spoilt, 6.0, 1.0, random);
  TakeAudio take = opened(spoilt);
  const QualityOfTake quality = judge_quality(take);
  CHECK(heed_quality(take).size() == quality.findings.size());
  CHECK(take.left_out == quality.left_out);
  CHECK(take.clipped_share == quality.clipped_share);
  CHECK(take.clipped_share > 0.01);
}

TEST_CASE("quality: lines of the engine are no hum because its speed was entered wrongly") {
  Recorded running = plain(6.0, 1500.0);
  add_hum(running, 50.0, 6.0);
  running.speed = SpeedCurve::constant(Rpm(1130.0), 0.003);
  TakeAudio take = opened(running);
  CHECK(finding(judge_quality(take), QualityKind::hum) != nullptr);
  take.heard_rpm = 1500.0;
  CHECK(finding(judge_quality(take), QualityKind::hum) == nullptr);
}

TEST_CASE("quality: only much clipping spoils what the sound says of the speed") {
  Recorded loud = plain(6.0);
  Random random(3);
  overdrive(loud, 6.0, 1.0, random);
  CHECK(spoilt_by_clipping(judge_quality(opened(loud)).findings));
  const Recorded clean = plain(6.0);
  CHECK_FALSE(spoilt_by_clipping(judge_quality(opened(clean)).findings));
}
