#include "src/analysis/change_verdict.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tests/src/analysis/compared_points.h"

using namespace howl;

namespace {

ComparedTone louder_at(double order, const std::vector<double>& levels_after_db) {
  ComparedTone tone;
  tone.order = order;
  tone.change = ToneChange::louder;
  tone.found_before = tone.found_after = true;
  tone.measured = MeasuredChange{};
  measure_after(tone, levels_after_db);
  return tone;
}

std::string verdict_of(const Comparison& comparison) { return verdict_words(comparison, nullptr); }

}  // namespace

TEST_CASE("verdict: another tone that is louder is named, with its place") {
  Comparison c = with_places({"pan", "pump"});
  c.tones.push_back(louder_at(13.626, {-50.0, -40.0}));
  CHECK(verdict_of(c).ends_with(
      " Nothing new was found. 1 other tone is louder: order 13.63, loudest at pump."));
  c.tones.push_back(louder_at(2.0, {}));
  c.tones.back().combustion = true;
  c.tones.back().order.reset();
  c.tones.back().frequency_hz = {60.0, 60.0};
  CHECK(verdict_of(c).ends_with(
      " 2 other tones are louder: order 13.63, loudest at pump; 60 Hz firing."));
}

TEST_CASE("verdict: of many tones that are louder the first three are named") {
  Comparison c = with_places({"pan", "pump"});
  for (const double order : {11.0, 8.25, 22.0, 4.0, 6.0}) c.tones.push_back(louder_at(order, {}));
  CHECK(verdict_of(c).ends_with(
      " 5 other tones are louder: order 11.00; order 8.25; order 22.00; and 2 more."));
  // The complaint's own is told by itself.
  CHECK(verdict_words(c, c.tones.data()).find("4 other tones are louder: order 8.25") !=
        std::string::npos);
}

namespace {

ComparedTone gone_howl(double before_db) {
  ComparedTone howl;
  howl.order = 11.0;
  howl.change = ToneChange::gone;
  howl.found_before = howl.prominent_before = true;
  howl.measured = MeasuredChange{};
  measure_after(howl, {-90.0, -90.0});
  howl.at[1].measured.before_db = before_db;
  return howl;
}

}  // namespace

TEST_CASE("verdict: a howl that is as loud now as the one was that is gone, is told behind it") {
  Comparison c = with_places({"pan", "pump"});
  c.tones = {gone_howl(-42.0), louder_at(9.0, {-50.0, -40.0})};
  c.tones[1].prominent_after = true;
  const auto verdict = [&] { return verdict_words(c, c.tones.data()); };
  const std::string instead =
      " But as loud as that was is another howl now, heard before too and louder since: order "
      "9.00, "
      "loudest at pump. Nothing new was found.";
  CHECK(verdict().ends_with(instead));
  SUBCASE("one that was as loud before") {
    c.tones[1].change = ToneChange::unchanged;
    CHECK(verdict().find("is another howl now, heard before too: order 9.00") != std::string::npos);
  }
  SUBCASE("not one that is 3 dB quieter than the howl was") {
    c.tones[0].at[1].measured.before_db = -36.9;
    CHECK(verdict().find("But as loud") == std::string::npos);
    CHECK(verdict().ends_with("1 other tone is louder: order 9.00, loudest at pump."));
  }
  SUBCASE("not the engine's firing, nor what does not stand out") {
    c.tones[1].combustion = true;
    CHECK(verdict().find("But as loud") == std::string::npos);
    c.tones[1].combustion = false;
    c.tones[1].prominent_after = false;
    CHECK(verdict().find("But as loud") == std::string::npos);
  }
}
