#include "src/analysis/sighting.h"

#include <algorithm>
#include <cmath>

namespace howl {

double highest_tone_hz(const TakeAudio& take) { return std::min(10000.0, 0.45 * take.sample_rate); }

double speed_rate(const TakeAudio& take, double time) {
  constexpr double reach = 0.25;
  const double from = std::max(0.0, time - reach);
  const double to = std::min(take.seconds, time + reach);
  return std::log(take.speed.at(Seconds(to)) / take.speed.at(Seconds(from))) / (to - from);
}

PitchPoint pitch_point(const TakeAudio& take, std::size_t index, double time, double frequency_hz,
                       double sigma_hz) {
  PitchPoint p;
  p.time = time;
  p.frequency_hz = frequency_hz;
  p.sigma_hz = sigma_hz;
  p.rpm = take.speed.at(Seconds(time)).value;
  p.speed_sigma = take.speed.relative_error();
  p.speed_rate = speed_rate(take, time);
  p.lag_sigma = take.lag_sigma;
  p.road_speed_kmh = road_speed_at(take, time);
  p.motion_unknown = take.motion_unknown;
  p.take = index;
  return p;
}

bool is_prominent(double tone_to_noise_db, double limit_db, double frequency_hz) {
  return frequency_hz >= 89.1 && frequency_hz <= 11200.0 && tone_to_noise_db >= limit_db;
}

std::size_t power_of_two_from(double samples) {
  std::size_t n = 2;
  while (static_cast<double>(n) < samples) n *= 2;
  return n;
}

}  // namespace howl
