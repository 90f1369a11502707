#include "src/record/gain_hint.h"

#include <fmt/format.h>

#include <cmath>

namespace howl {

namespace {

constexpr double lowest_good_db = -20.0;
constexpr double highest_good_db = -6.0;
constexpr double aim_db = -12.0;
constexpr double step_when_clipped_db = 12.0;
constexpr double as_good_as_nothing_db = -70.0;

}  // namespace

std::optional<std::string> gain_hint(const MeterReading& reading) {
  if (reading.clipped > 0)
    return fmt::format("clipped; turn the gain down by {:.0f} dB or more", step_when_clipped_db);
  const double peak = 20.0 * std::log10(reading.highest);  // −∞ for silence, which compares well
  if (peak < as_good_as_nothing_db)
    return "hardly anything is heard; check microphone, cable and channel";
  if (peak > highest_good_db)
    return fmt::format("loud; turn the gain down by about {:.0f} dB", peak - aim_db);
  if (peak < lowest_good_db)
    return fmt::format("faint; turn the gain up by about {:.0f} dB", aim_db - peak);
  return std::nullopt;
}

}  // namespace howl
