#pragma once

#include <optional>
#include <vector>

#include "src/files/toml_reader.h"
#include "src/profile/profile.h"

namespace howl {

/// From the keys view, x and y of a probe point: all three or none.
std::optional<SketchPlace> read_sketch_place(TomlReader& in);

/// The tables [[outline]] of a profile: label, view, and box = [x, y, width, height] or
/// polygon = [[x, y], …]. Throw Error that names line, key and remedy, both of them.
std::vector<Outline> read_outlines(TomlReader& whole);

}  // namespace howl
