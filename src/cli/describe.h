#pragma once

#include <span>
#include <string>

#include "src/case/case.h"

namespace howl {

/// Lines for people, each ending in a line feed.

/// One line a point: its name, and where to touch.
std::string describe_points(std::span<const ProbePoint> points);
/// "t01: transmission pan, 12.0 s, 1800 rpm"
std::string describe_take(const Take& take);
/// A table of what differs, as it was and as it is now; empty where nothing does.
std::string describe_change(const Take& was, const Take& now);

}  // namespace howl
