#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/profile/source.h"

namespace howl {

/// A line that a source makes if it is the one that howls, ready to be held against a tone: its
/// place is equally likely anywhere in `at`, before errors of measurement.
struct ExpectedLine {
  enum class Unit { order, cycles_per_metre, hertz };
  std::string what;  ///< "10 vanes", "outer race, 8 elements"
  Unit unit{};
  Interval at;  ///< fundamental
  /// Exact but for errors of measurement: a whole number of cycles of a shaft without slip.
  bool exact{};
  double share{};  ///< among the lines of this source; all sum to 1
  Interval shaft;  ///< turns of its shaft, same unit: its sidebands' spacing; 0 if not known
};

/// All lines of a source: one for each whole number of each thing it makes. Empty where its pitch
/// is not known. A belt's place holds the spread of ratio, diameters and slip.
std::vector<ExpectedLine> expected_lines(const Source& source);

}  // namespace howl
