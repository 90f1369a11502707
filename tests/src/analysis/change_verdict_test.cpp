#include "src/analysis/change_verdict.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace howl;

namespace {

Comparison at_two_points() {
  Comparison comparison;
  for (const std::string point : {"pan", "pump"}) {
    ComparedPlace place;
    place.point = point;
    place.condition = "1800 rpm";
    place.trusted = true;
    comparison.places.push_back(place);
  }
  return comparison;
}

ComparedTone louder_at(double order, const std::vector<double>& levels_after_db) {
  ComparedTone tone;
  tone.order = order;
  tone.change = ToneChange::louder;
  tone.found_before = tone.found_after = true;
  tone.measured = MeasuredChange{};
  for (std::size_t p = 0; p < levels_after_db.size(); ++p) {
    ToneAtPlace at;
    at.place = p;
    at.measured.after_db = levels_after_db[p];
    tone.at.push_back(at);
  }
  return tone;
}

std::string verdict_of(const Comparison& comparison) { return verdict_words(comparison, nullptr); }

}  // namespace

TEST_CASE("verdict: another tone that is louder is named, with its place") {
  Comparison c = at_two_points();
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
  Comparison c = at_two_points();
  for (const double order : {11.0, 8.25, 22.0, 4.0, 6.0}) c.tones.push_back(louder_at(order, {}));
  CHECK(verdict_of(c).ends_with(
      " 5 other tones are louder: order 11.00; order 8.25; order 22.00; and 2 more."));
  // The complaint's own is told by itself.
  CHECK(verdict_words(c, c.tones.data()).find("4 other tones are louder: order 8.25") !=
        std::string::npos);
}
