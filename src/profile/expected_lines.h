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
  /// Turns of other shafts that take part, same unit: a mate's, a carrier's. A flaw that turns with
  /// one of them sets sidebands that far apart.
  std::vector<Interval> other_shafts{};
  /// How often the same two teeth meet, same unit, where both numbers of teeth are known: the
  /// hunting tooth rate (dsp/gear.h).
  std::optional<Interval> same_teeth{};
};

/// All lines of a source: one for each whole number of each thing it makes. Empty where its pitch
/// is not known. A belt's place holds the spread of ratio, diameters and slip.
std::vector<ExpectedLine> expected_lines(const Source& source);

}  // namespace howl
