#pragma once

#include <string>
#include <vector>

#include "src/analysis/comparison.h"

namespace howl {

/// A comparison of the given points at one speed, each held as well after as before, no tone yet.
inline Comparison with_places(const std::vector<std::string>& points) {
  Comparison comparison;
  for (const std::string& point : points) {
    ComparedPlace place;
    place.point = point;
    place.condition = "1800 rpm";
    place.trusted = true;
    comparison.places.push_back(place);
  }
  return comparison;
}

/// Levels after at places 0, 1, …
inline void measure_after(ComparedTone& tone, const std::vector<double>& levels_db) {
  for (std::size_t p = 0; p < levels_db.size(); ++p) {
    ToneAtPlace at;
    at.place = p;
    at.measured.after_db = levels_db[p];
    tone.at.push_back(at);
  }
}

}  // namespace howl
