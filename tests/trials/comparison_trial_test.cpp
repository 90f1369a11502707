#include <doctest/doctest.h>
#include <fmt/format.h>

#include <cmath>
#include <vector>

#include "dsp/level_change.h"
#include "tests/src/repair_cases.h"
#include "tests/trials/trial_size.h"

using namespace howl;

namespace {

struct Count {
  int of = 0;
  int yes = 0;
  void add(bool is) {
    ++of;
    yes += is ? 1 : 0;
  }
  double percent() const { return 100.0 * yes / of; }
};

}  // namespace

// A vehicle that nobody touched, recorded twice: new noise, another hand (2 dB s.d. a take), and an
// engine speed that is off by 1 %. Nothing may be called gone or new, weaker or louder.
TEST_CASE("trial: nothing repaired, nothing changed") {
  Count false_gone_or_new;
  Count false_change;
  Count howl_unchanged;
  Count tone_unchanged;
  for (std::uint64_t visit = 1; visit <= trial_size(100); ++visit) {
    const RepairScene scene = make_repair_scene(visit, visit, {});
    const Comparison c = test::compare(scene);
    bool gone_or_new = false;
    bool changed = false;
    for (const ComparedTone& tone : c.tones) {
      gone_or_new =
          gone_or_new || tone.change == ToneChange::gone || tone.change == ToneChange::appeared;
      changed = changed || tone.change == ToneChange::weaker || tone.change == ToneChange::louder;
      if (tone.prominent_before) tone_unchanged.add(tone.change == ToneChange::unchanged);
    }
    false_gone_or_new.add(gone_or_new);
    false_change.add(gone_or_new || changed);
    howl_unchanged.add(c.howl == ToneChange::unchanged);
  }
  MESSAGE(fmt::format(
      "nothing changed: gone or new claimed in {:.0f} %, any change in {:.0f} % of {}; the howl "
      "called unchanged in {:.0f} %, prominent tones in {:.0f} % of {}",
      false_gone_or_new.percent(), false_change.percent(), false_change.of,
      howl_unchanged.percent(), tone_unchanged.percent(), tone_unchanged.of));
  CHECK(false_gone_or_new.percent() <= 1.0);
  CHECK(false_change.percent() <= 5.0);
  CHECK(howl_unchanged.percent() >= 80.0);
}

TEST_CASE("trial: howls that are gone, and howls that are half as strong") {
  Count gone;
  Count weaker;
  Count half_called_gone;
  Count covered;
  Count covered_relative;
  for (std::uint64_t visit = 1; visit <= trial_size(40); ++visit) {
    const std::uint64_t seed = 200 + visit;
    gone.add(test::compare(make_repair_scene(seed, visit, {.howl_db = -200.0})).howl ==
             ToneChange::gone);
    const RepairScene scene = make_repair_scene(seed, visit + 1000, {.howl_db = -6.0});
    const Comparison c = test::compare(scene);
    weaker.add(c.howl == ToneChange::weaker);
    half_called_gone.add(c.howl == ToneChange::gone);
    const ComparedTone* howl = test::tone_near(c, test::howl_hz(scene));
    if (!howl) continue;
    for (const ToneAtPlace& at : howl->at) {
      const MeasuredChange& m = at.measured;
      if (!m.ci95_db.low_db || !m.ci95_db.high_db) continue;
      covered.add(*m.ci95_db.low_db <= -6.0 && -6.0 <= *m.ci95_db.high_db);
      covered_relative.add(*m.relative_ci95_db.low_db <= -6.0 &&
                           -6.0 <= *m.relative_ci95_db.high_db);
    }
  }
  MESSAGE(fmt::format(
      "gone called gone in {:.0f} %; half as strong: weaker {:.0f} %, gone {:.0f} %; the 95 % "
      "interval of one place holds the true change in {:.1f} % of {}, relative to the rest in "
      "{:.1f} %",
      gone.percent(), weaker.percent(), half_called_gone.percent(), covered.percent(), covered.of,
      covered_relative.percent()));
  CHECK(gone.percent() >= 80.0);
  CHECK(half_called_gone.yes == 0);
  CHECK(weaker.percent() >= 60.0);
  CHECK(covered.percent() >= 93.0);
  CHECK(covered_relative.percent() >= 90.0);
}

// Levels alone, without sound: 1 to 4 places of 1 to 3 repeats, a hand of 1 to 3 dB.
TEST_CASE("trial: intervals of a change hold the true one") {
  Random random(11);
  Count covered;
  for (std::uint64_t scene = 0; scene < trial_size(400); ++scene) {
    const double true_db = -20.0 * draw_uniform(random);
    const double sd = 1.0 + 2.0 * draw_uniform(random);
    const std::size_t repeats = 1 + draw_index(random, 3);
    std::vector<ChangeCell> cells(1 + draw_index(random, 4));
    const auto draw_take = [&](double db) {
      const double hand = db + sd * draw_normal(random);
      WindowBlocks take;
      take.noise_power = 0.0;
      for (int b = 0; b < 12; ++b)
        take.block_power.push_back(std::pow(10.0, hand / 10.0) * draw_chi_square(random, 40.0) /
                                   40.0);
      return take;
    };
    for (ChangeCell& cell : cells)
      for (std::size_t r = 0; r < repeats; ++r) {
        cell.before.push_back(draw_take(0.0));
        cell.after.push_back(draw_take(true_db));
      }
    const LevelChange change = level_change(cells, {.replicates = 1000});
    covered.add(*change.absolute.low_db <= true_db && true_db <= *change.absolute.high_db);
  }
  MESSAGE(fmt::format("95 % intervals hold the true change in {:.1f} % of {}", covered.percent(),
                      covered.of));
  CHECK(covered.percent() >= 92.0);
  CHECK(covered.percent() <= 99.0);
}
