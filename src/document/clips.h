#pragma once

#include <vector>

#include "src/document/document.h"
#include "src/document/material.h"

namespace howl::document {

/// A few seconds of the take in which the strongest howl is loudest, as it was recorded, and the
/// howl alone (dsp/order_filter.h) over the same time. Both are made as loud as they can be, and
/// say by how much. Empty where there is no howl; a howl that cannot be isolated has no clip of its
/// own, and the other says why. Throws Error where the recording cannot be read, and what
/// `progress` throws.
std::vector<Clip> clips_of(const Material& material, const Progress& progress);

}  // namespace howl::document
