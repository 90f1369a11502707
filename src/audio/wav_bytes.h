#pragma once

#include <span>
#include <string>

namespace howl {

/// A whole WAV file in memory: one channel, 16 bit, `sample_rate` in whole Hz. Samples beyond ±1
/// are clipped. The same samples give the same bytes.
std::string wav16_bytes(std::span<const float> samples, int sample_rate);

}  // namespace howl
