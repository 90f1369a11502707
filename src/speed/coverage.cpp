#include "src/speed/coverage.h"

#include <fmt/format.h>

#include <algorithm>

#include "src/errors.h"

namespace howl {

std::optional<std::string> require_coverage(Seconds first, Seconds last, Seconds length,
                                            const std::string& where, const std::string& remedy) {
  constexpr double least_share = 0.8;
  constexpr Seconds tolerated{0.5};
  const Seconds from = std::max(first, Seconds(0.0));
  const Seconds to = std::min(last, length);
  if ((to - from) / length < least_share)
    throw Error(
        Fault::file, where,
        fmt::format("gives the speed from {:.1f} to {:.1f} s, but the recording lasts {:.1f} s",
                    first.value, last.value, length.value),
        remedy);
  if (from <= tolerated && length - to <= tolerated) return std::nullopt;
  return fmt::format(
      "speed is known from {:.1f} to {:.1f} s of {:.1f} s; before and after, it is held as it was",
      from.value, to.value, length.value);
}

}  // namespace howl
