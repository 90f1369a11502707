#include "src/speed/coverage.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>

#include "src/errors.h"

namespace howl {

void require_coverage(Seconds first, Seconds last, Seconds length, const std::string& where,
                      const std::string& remedy) {
  constexpr double least_share = 0.8;
  const Seconds from = std::max(first, Seconds(0.0));
  const Seconds to = std::min(last, length);
  if ((to - from) / length < least_share)
    throw Error(
        Fault::file, where,
        fmt::format("gives the speed from {:.1f} to {:.1f} s, but the recording lasts {:.1f} s",
                    first.value, last.value, length.value),
        remedy);
}

TimeSpans without_speed(const TimeSpans& known, Seconds length) {
  constexpr double held = 0.5;
  if (known.empty()) return {};
  TimeSpans unknown;
  double end = 0.0;
  for (const Interval& span : known) {
    const double from = std::min(span.low, length.value);
    if (from - end > (end > 0.0 ? 0.0 : held)) unknown.push_back({end, from});
    end = std::max(end, span.high);
  }
  if (length.value - end > held) unknown.push_back({end, length.value});
  return unknown;
}

std::string places_of(const TimeSpans& spans) {
  constexpr std::size_t named = 3;
  std::string list;
  const std::size_t count = std::min(named, spans.size());
  for (std::size_t i = 0; i < count; ++i)
    list += fmt::format("{}{:.1f} to {:.1f}",
                        i == 0                                    ? ""
                        : i + 1 == count && count == spans.size() ? " and "
                                                                  : ", ",
                        spans[i].low, spans[i].high);
  list += " s";
  if (spans.size() > named) list += fmt::format(" and {} times more", spans.size() - named);
  return list;
}

}  // namespace howl
