// Any bytes as a speed log: either refused with an Error, or a log that a speed curve accepts.

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "dsp/speed_curve.h"
#include "src/case/speed_limits.h"
#include "src/errors.h"
#include "src/speed/speed_log.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  constexpr howl::Seconds length{10.0};
  try {
    const howl::SpeedLog log = howl::parse_speed_log(text, "log.csv", length);
    const auto curve = howl::SpeedCurve::through(log.points, 0.003);
    if (!howl::plausible(curve.at(howl::Seconds(5.0)))) std::abort();
    for (const howl::RoadSpeedPoint& point : log.road)
      if (!std::isfinite(point.kmh) || point.kmh < 0.0) std::abort();
  } catch (const howl::Error&) {
    return 0;
  }
  return 0;
}
