#pragma once

#include <cstdint>
#include <span>

#include "dsp/time_spans.h"

namespace howl {

/// Silences those of `samples` that lie in `spans`, in s; the first is sample `first` of a stream
/// at `sample_rate` in Hz. Within 10 ms before and after a span the sound fades (raised cosine), so
/// that nothing clicks. Any chunking gives the same result.
void mute_spans(std::span<float> samples, std::int64_t first, double sample_rate,
                const TimeSpans& spans);

}  // namespace howl
