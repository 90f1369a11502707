#pragma once

#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// Stretches of a recording in seconds, rising, apart from each other.
using TimeSpans = std::vector<Interval>;

/// Sorted, each grown by `margin` at both ends (not below 0), those that meet or lie within `gap`
/// of each other made one.
TimeSpans merged(TimeSpans spans, double margin = 0.0, double gap = 0.0);

/// Seconds covered.
double covered(const TimeSpans& spans);

/// Whether a moment lies in any span; the end of a span does not.
bool contains(const TimeSpans& spans, double time);

/// Whether any span reaches into `from` … `to`.
bool reaches_into(const TimeSpans& spans, double from, double to);

}  // namespace howl
