#include "src/speed/found_words.h"

#include <fmt/format.h>

#include "src/percent_text.h"

namespace howl {

std::string found_words(const FoundSpeed& found) {
  constexpr double hold = 1.06;
  std::string text =
      found.range.high > hold * found.range.low
          ? fmt::format("found in the sound: {:.0f} to {:.0f} rpm, {:.0f} on the average",
                        found.range.low, found.range.high, found.rpm)
          : fmt::format("found in the sound: {:.0f} rpm", found.rpm);
  text += fmt::format(" (95 %: {:.1f} to {:.1f})", found.rpm_ci95.low, found.rpm_ci95.high);
  for (const FoundSpeed::Rival& rival : found.rivals)
    text += fmt::format("; it may be {:.0f} rpm instead ({})", rival.rpm,
                        percent_text(rival.probability));
  return text;
}

}  // namespace howl
