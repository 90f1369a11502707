#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "tests/trials/faulty_takes.h"
#include "tests/trials/trial_size.h"

// How often each fault of a take is found, and how often one is found that is not there, on engines
// of all kinds: holds and sweeps, hard combustion, howls that swing and belts, 8 to 48 kHz.

using namespace howl;
using namespace howl::test;

TEST_CASE("trial: clean takes are not called faulty") {
  const auto scenes = static_cast<int>(trial_size(200, 2));
  std::map<std::string_view, int> false_alarms;
  for (int i = 0; i < scenes; ++i) {
    const QualityOfTake quality = judge(clean_take(static_cast<std::uint64_t>(i)));
    for (const QualityFinding& f : quality.findings) {
      ++false_alarms[quality_kind_name(f.kind)];
      MESSAGE(fmt::format("scene {}: {}", i, f.text));
    }
  }
  for (const auto& [kind, count] : false_alarms) {
    CAPTURE(kind);
    CHECK(count <= scenes / 100);
  }
}

namespace {

using Spoil = std::function<void(Recorded&, Random&)>;

/// Share of takes in which the fault is found.
double found(const std::vector<QualityKind>& kinds, const Spoil& spoil, const std::string& what) {
  constexpr std::uint64_t takes = 14;
  int hits = 0;
  for (std::uint64_t i = 0; i < takes; ++i) {
    Random random(31 * i + 7);
    Recorded take = clean_take(i);
    spoil(take, random);
    const QualityOfTake quality = judge(take);
    if (std::any_of(kinds.begin(), kinds.end(),
                    [&](QualityKind kind) { return finding(quality, kind) != nullptr; }))
      ++hits;
  }
  const double share = hits / static_cast<double>(takes);
  MESSAGE(fmt::format("{}: {:.0f} %", what, 100.0 * share));
  return share;
}

double middle(const Recorded& take) { return 0.5 * take.seconds(); }

}  // namespace

TEST_CASE("trial: clipping is found") {
  for (const double ceiling : {1.0, 0.3, 0.02})
    for (const double db : {1.0, 3.0, 6.0, 12.0}) {
      const double share = found(
          {QualityKind::clipped},
          [&](Recorded& t, Random& r) {
            overdrive(t, db, ceiling, r);
            quantise(t, 16);
          },
          fmt::format("clipped at {} by {} dB", ceiling, db));
      if (db >= 3.0) CHECK(share >= 0.9);
    }
}

TEST_CASE("trial: lost samples are found") {
  const auto dropout = [](const Spoil& spoil, const std::string& what) {
    return found({QualityKind::dropouts}, spoil, what);
  };
  for (const double ms : {1.5, 5.0, 50.0, 400.0}) {
    const double s = 0.001 * ms;
    CHECK(dropout([&](Recorded& t, Random&) { lose_as_zeros(t, middle(t), s); },
                  fmt::format("zeros for {} ms", ms)) >= 0.95);
    CHECK(dropout([&](Recorded& t, Random&) { lose_and_hold(t, middle(t), s); },
                  fmt::format("held for {} ms", ms)) >= 0.85);
  }
  for (const double ms : {10.0, 50.0, 200.0})
    CHECK(dropout([&](Recorded& t, Random&) { repeat_block(t, middle(t), 0.001 * ms); },
                  fmt::format("repeated {} ms", ms)) >= 0.95);
  // A cut shows where its step is larger than the noise, which is the lesser part of all places.
  for (const double ms : {3.0, 20.0})
    CHECK(dropout([&](Recorded& t, Random&) { cut_out(t, middle(t), 0.001 * ms); },
                  fmt::format("cut out {} ms", ms)) > 0.0);
}

TEST_CASE("trial: hum is found") {
  for (const double mains : {50.0, 60.0})
    for (const double db : {-15.0, -10.0, 0.0, 6.0}) {
      const double share = found(
          {QualityKind::hum}, [&](Recorded& t, Random&) { add_hum(t, 1.0008 * mains, db); },
          fmt::format("hum of {} Hz at {} dB", mains, db));
      if (db >= 0.0) CHECK(share >= 0.8);
    }
}

TEST_CASE("trial: lost and loose contact are found") {
  for (const double s : {0.3, 1.0})
    CHECK(found(
              {QualityKind::contact_lost},
              [&](Recorded& t, Random&) {
                synth_dropout(t.samples, t.sample_rate, Seconds(middle(t)), Seconds(s), 0.02);
              },
              fmt::format("contact lost for {} s", s)) >= 0.85);
  for (const double db : {10.0, 15.0, 20.0})
    for (const double fade : {0.1, 1.0}) {
      const double share = found(
          {QualityKind::contact_loose, QualityKind::contact_lost},
          [&](Recorded& t, Random&) {
            loosen(t, middle(t) - 0.5 - fade, middle(t) + 0.5 + fade, fade, 3.0, db);
          },
          fmt::format("contact loose, {} dB at the top, fading in {} s", db, fade));
      if (db >= 15.0 && fade < 0.5) CHECK(share >= 0.7);
    }
}

TEST_CASE("trial: knocks are found") {
  for (const double db : {15.0, 20.0, 26.0, 32.0}) {
    const double share = found(
        {QualityKind::knocks}, [&](Recorded& t, Random& r) { knock(t, middle(t), db, r); },
        fmt::format("knock {} dB over the rms", db));
    if (db >= 26.0) CHECK(share >= 0.9);
  }
}

TEST_CASE("trial: rumble, faint takes and offsets are found") {
  for (const double db : {10.0, 16.0, 22.0}) {
    const double share = found(
        {QualityKind::rumble}, [&](Recorded& t, Random& r) { add_rumble(t, db, r); },
        fmt::format("rumble {} dB over the rms", db));
    if (db >= 16.0) CHECK(share >= 0.9);
  }
  const auto at_peak = [](Recorded& t, double peak) {
    scale(t, peak / static_cast<double>(peak_of(t.samples)));
    quantise(t, 16);
  };
  CHECK(found(
            {QualityKind::faint}, [&](Recorded& t, Random&) { at_peak(t, 0.0008); },
            "peak at -62 dB") == 1.0);
  CHECK(found(
            {QualityKind::offset},
            [&](Recorded& t, Random&) {
              for (float& x : t.samples) x += 0.03F;
            },
            "offset of 3 %") >= 0.99);
}
