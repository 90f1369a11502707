#pragma once

#include <string>

#include "src/analysis/analysis.h"

namespace howl {

/// What the analysis comes to, as one sentence each, for the head of every report.
struct Finding {
  std::string where;  ///< the loudest probe point and how sure that is, or why there is none
  std::string what;   ///< the strongest howl and how its pitch behaves, or that there is none
};
Finding finding_of(const Analysis& analysis);

/// The tone that matters most: in the band that the user chose, or else anywhere. Neither the
/// engine's own firing nor what a remark puts in doubt; null if there is none.
const ToneResult* strongest_howl(const Analysis& analysis);

}  // namespace howl
