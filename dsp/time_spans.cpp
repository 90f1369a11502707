#include "dsp/time_spans.h"

#include <algorithm>

namespace howl {

TimeSpans merged(TimeSpans spans, double margin, double gap) {
  std::sort(spans.begin(), spans.end(),
            [](const Interval& a, const Interval& b) { return a.low < b.low; });
  TimeSpans apart;
  for (const Interval& span : spans) {
    const Interval grown{std::max(0.0, span.low - margin), span.high + margin};
    if (apart.empty() || grown.low > apart.back().high + gap)
      apart.push_back(grown);
    else
      apart.back().high = std::max(apart.back().high, grown.high);
  }
  return apart;
}

double covered(const TimeSpans& spans) {
  double sum = 0.0;
  for (const Interval& span : spans) sum += span.width();
  return sum;
}

bool contains(const TimeSpans& spans, double time) {
  return std::any_of(spans.begin(), spans.end(),
                     [&](const Interval& span) { return span.low <= time && time < span.high; });
}

bool reaches_into(const TimeSpans& spans, double from, double to) {
  const auto after = std::upper_bound(spans.begin(), spans.end(), from,
                                      [](double t, const Interval& s) { return t < s.high; });
  return after != spans.end() && after->low < to;
}

}  // namespace howl
