#include "src/report/suspect_words.h"

#include <doctest/doctest.h>

#include <numeric>

using namespace howl;

namespace {

/// Evidence by weight, strongest first, as a verdict holds it.
Suspect suspect_with(const std::vector<double>& weights_db) {
  Suspect suspect;
  suspect.source = "pump";
  suspect.evidence.push_back({"before", "how often it is at fault", -14.0});
  for (const double db : weights_db) suspect.evidence.push_back({"found", "found", db});
  return suspect;
}

}  // namespace

TEST_CASE("What is not shown of the evidence is told as one weight") {
  const Suspect suspect = suspect_with({9.0, -6.0, 3.0, 2.0, -1.9, -1.5, 0.5});
  CHECK(telling_evidence(suspect).size() == 4);
  CHECK(weight_of_the_rest_db(suspect).value() == doctest::Approx(-1.9 - 1.5 + 0.5));
  CHECK_FALSE(weight_of_the_rest_db(suspect_with({9.0, -6.0, 3.0, 2.0, 1.2, -0.9})));
  Suspect unlisted = suspect;
  unlisted.source.clear();
  CHECK_FALSE(weight_of_the_rest_db(unlisted));
}
