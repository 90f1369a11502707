#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "src/analysis/take_audio.h"

namespace howl {

/// Names of probe points that mean the same: before -> after, where a point was renamed.
using PointMap = std::map<std::string, std::string>;

/// Takes of one probe point in one condition, in both cases; places in their lists.
struct TakeRow {
  std::string point;      ///< as the case before names it
  std::string condition;  ///< "1500 rpm, selector Park"
  std::size_t condition_number{};
  std::vector<std::size_t> before;
  std::vector<std::size_t> after;
};

/// Takes of one case without a partner in the other.
struct LoneTakes {
  std::string point;
  std::string condition;
  std::vector<std::string> takes;
};

struct TakePairs {
  std::vector<TakeRow> rows;
  std::vector<LoneTakes> only_before;
  std::vector<LoneTakes> only_after;
  std::vector<std::size_t> condition_before;  ///< number of each take's condition
  std::vector<std::size_t> condition_after;
};

/// Names that differ in nothing but the case of ASCII letters and in blanks are the same.
bool same_point(std::string_view a, std::string_view b);

/// Pairs takes by point, speed, load state and road speed; see comparable().
TakePairs pair_takes(const std::vector<TakeAudio>& before, const std::vector<TakeAudio>& after,
                     const PointMap& renamed);

}  // namespace howl
