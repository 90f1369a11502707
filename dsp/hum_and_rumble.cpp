#include "dsp/hum_and_rumble.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <utility>

namespace howl {

namespace {

constexpr double kSlowRate = 1000.0;
constexpr double kHumBlockSeconds = 2.0;
constexpr std::array<double, 2> kMains{50.0, 60.0};
constexpr double kMainsTolerance = 0.003;
constexpr double kLeastTolerance = 0.1;  // Hz
constexpr double kStandsOut = 10.0;      // as power: 10 dB
constexpr double kPersistence = 0.7;
constexpr double kSameBase = 0.12;  // Hz, what noise leaves of a line 10 dB over it in 2 s
/// What a multiple of hum may be stronger than its first two lines, as power; our choice. A howl
/// that happens to lie on a multiple is no part of a hum that is faint at its base.
constexpr double kOverBase = 10.0;
constexpr double kSteadyHz = 0.03;  // engines held by foot or idle governor wander by 0.1 Hz

constexpr double kRumbleFrom = 2.0;
constexpr double kRumbleTo = 40.0;
constexpr double kOutweighs = 10.0;

constexpr double kHumSlack = 0.01;     // of a half order's frequency, at least
constexpr double kRumbleSlack = 0.02;  // a whole order spared too much hides little

std::size_t decimation(double sample_rate) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(sample_rate / kSlowRate));
}

std::size_t hum_block_length(double rate) {
  return std::bit_ceil(static_cast<std::size_t>(0.75 * kHumBlockSeconds * rate));
}

struct LineSeen {
  double frequency;
  double power;
};

/// The highest line near a multiple of the mains frequency, if it stands out and lies there.
std::optional<LineSeen> line_at(std::span<const float> power, double spacing, double frequency) {
  const double tolerance = std::max(kLeastTolerance, kMainsTolerance * frequency);
  const auto near = [&](double f) { return static_cast<std::size_t>(std::lround(f / spacing)); };
  const std::size_t low = near(frequency - tolerance - 0.5 * spacing);
  const std::size_t high = near(frequency + tolerance + 0.5 * spacing);
  if (low < 24 || high + 24 >= power.size()) return std::nullopt;
  std::size_t top = low;
  for (std::size_t k = low; k <= high; ++k)
    if (power[k] > power[top]) top = k;
  if (power[top] < power[top - 1] || power[top] < power[top + 1]) return std::nullopt;
  // Position by the parabola through the logarithms, for a Hann window right to 0.03 lines.
  const double a = std::log(std::max(1e-30F, power[top - 1]));
  const double b = std::log(std::max(1e-30F, power[top]));
  const double c = std::log(std::max(1e-30F, power[top + 1]));
  const double curve = a - 2.0 * b + c;
  const double shift = curve < 0.0 ? 0.5 * (a - c) / curve : 0.0;
  const double position = (static_cast<double>(top) + shift) * spacing;
  if (std::abs(position - frequency) > tolerance) return std::nullopt;
  std::vector<double> around;
  for (std::size_t k = 4; k <= 20; ++k) {
    around.push_back(power[top - k]);
    around.push_back(power[top + k]);
  }
  const double floor = median(around);
  if (power[top] < kStandsOut * floor) return std::nullopt;
  double sum = 0.0;
  for (std::size_t k = top - 2; k <= top + 2; ++k) sum += power[k] - floor;
  return LineSeen{position, std::max(0.0, sum / kHannNoiseBins)};
}

}  // namespace

HumAndRumbleFinder::HumAndRumbleFinder(double sample_rate, std::optional<SpeedCurve> speed)
    : speed_(std::move(speed)),
      decimator_(decimation(sample_rate)),
      rate_(sample_rate / static_cast<double>(decimation(sample_rate))),
      spectrogram_({WindowKind::hann, hum_block_length(rate_), hum_block_length(rate_) / 2}),
      spacing_(rate_ / static_cast<double>(hum_block_length(rate_))),
      lines_(kMains.size() * kLines) {}

void HumAndRumbleFinder::watch_hum(std::span<const float> power) {
  for (std::size_t m = 0; m < kMains.size(); ++m)
    for (std::size_t k = 0; k < kLines; ++k) {
      const double multiple = static_cast<double>(k + 1);
      const auto seen = line_at(power, spacing_, kMains[m] * multiple);
      if (!seen) continue;
      Line& own = lines_[m * kLines + k];
      const double off = seen->frequency / multiple - kMains[m];
      ++own.blocks;
      own.power += seen->power;
      own.off += off;
      own.off_squared += off * off;
    }
}

/// Where half an engine order may lie in a stretch of time, Hz; none without an engine.
std::optional<Interval> HumAndRumbleFinder::half_orders_between(double from, double to,
                                                                double least_slack) const {
  if (!speed_) return std::nullopt;
  const SpeedCurve::Range range = speed_->range(Seconds(from), Seconds(to));
  const double slack = std::max(least_slack, 3.0 * speed_->relative_error());
  return Interval{range.low.value / 120.0 * (1.0 - slack),
                  range.high.value / 120.0 * (1.0 + slack)};
}

bool HumAndRumbleFinder::has_rumble(double from, double to, std::span<const float> power) const {
  const std::optional<Interval> half_orders = half_orders_between(from, to, kRumbleSlack);
  constexpr double lobe = 2.5;  // lines of a Hann window's flank
  double slow = 0.0;
  double rest = 0.0;
  for (std::size_t k = 0; k < power.size(); ++k) {
    const double f = spacing_ * static_cast<double>(k);
    if (f > kRumbleTo) {
      rest += power[k];
      continue;
    }
    if (f < kRumbleFrom) continue;
    // A multiple of the half order lies in f ± lobe where the next one above its lower edge does.
    if (half_orders) {
      const double multiple = std::max(1.0, std::ceil((f - lobe * spacing_) / half_orders->high));
      if (multiple * half_orders->low <= f + lobe * spacing_) continue;
    }
    slow += power[k];
  }
  return slow > kOutweighs * rest;
}

void HumAndRumbleFinder::take_columns(std::size_t first, std::span<const float> columns) {
  const std::size_t lines = spectrogram_.lines();
  const double hop = 0.5 / spacing_;
  for (std::size_t c = 0; c * lines < columns.size(); ++c) {
    const auto power = columns.subspan(c * lines, lines);
    const double from = hop * static_cast<double>(first + c);
    watch_hum(power);
    if (has_rumble(from, from + 2.0 * hop, power))
      rumble_.push_back({from + 0.5 * hop, from + 1.5 * hop});
    for (std::size_t k = 2; spacing_ * static_cast<double>(k) <= kRumbleTo; ++k)
      below_40_hz_ += static_cast<double>(power[k]) / kHannNoiseBins;
    ++blocks_;
  }
}

void HumAndRumbleFinder::push(std::span<const float> samples) {
  slow_.clear();
  decimator_.push(samples, slow_);
  spectrogram_.push(slow_, [this](std::size_t first, std::span<const float> columns) {
    take_columns(first, columns);
  });
}

bool HumAndRumbleFinder::may_be_order(double frequency) const {
  if (!speed_) return false;
  const double seconds = 0.5 / spacing_ * static_cast<double>(blocks_ + 1);
  const SpeedCurve::Range range = speed_->range(Seconds(0.0), Seconds(seconds));
  // An order that moves by more than the line is wide is no line.
  if (range.high / range.low > 1.06) return false;
  const std::optional<Interval> half_order = half_orders_between(0.0, seconds, kHumSlack);
  return std::ceil(frequency / half_order->high) * half_order->low <= frequency;
}

/// The lines of one mains frequency that stand there most of the time and are multiples of one
/// base.
std::optional<MainsHum> HumAndRumbleFinder::series(std::size_t mains) const {
  const std::span<const Line> all = std::span(lines_).subspan(mains * kLines, kLines);
  const auto persistent = [&](const Line& line) {
    return static_cast<double>(line.blocks) >= kPersistence * static_cast<double>(blocks_);
  };
  double base = 0.0;
  for (const Line& line : all.first(2))
    if (persistent(line)) base = std::max(base, line.strength());
  const auto belongs = [&](const Line& line) {
    return persistent(line) && line.strength() <= kOverBase * base;
  };
  const Line* strongest = nullptr;
  for (const Line& line : all)
    if (belongs(line) && (strongest == nullptr || line.power > strongest->power)) strongest = &line;
  if (strongest == nullptr) return std::nullopt;

  MainsHum hum{kMains[mains], 0.0, true};
  int lines = 0;
  int not_engine = 0;
  bool has_low_one = false;
  for (std::size_t k = 0; k < kLines; ++k) {
    const Line& line = all[k];
    if (!belongs(line) || std::abs(line.mean() - strongest->mean()) > kSameBase) continue;
    hum.power += line.strength();
    ++lines;
    has_low_one = has_low_one || k < 2;
    if (!may_be_order(kMains[mains] * static_cast<double>(k + 1))) ++not_engine;
  }
  if (lines < 2 || !has_low_one) return std::nullopt;
  hum.may_be_engine = not_engine < 2;
  if (hum.may_be_engine && strongest->scatter() > kSteadyHz) return std::nullopt;
  return hum;
}

HumAndRumble HumAndRumbleFinder::finish() {
  spectrogram_.flush(
      [this](std::size_t first, std::span<const float> columns) { take_columns(first, columns); });
  HumAndRumble found;
  if (blocks_ < 2) return found;
  found.seconds = 0.5 / spacing_ * static_cast<double>(blocks_ + 1);
  for (std::size_t m = 0; m < kMains.size(); ++m) {
    const auto hum = series(m);
    if (hum && (!found.hum || std::pair(!hum->may_be_engine, hum->power) >
                                  std::pair(!found.hum->may_be_engine, found.hum->power)))
      found.hum = hum;
  }
  found.power_below_40_hz = below_40_hz_ / static_cast<double>(blocks_);
  found.rumble = merged(std::move(rumble_), 0.0, 0.01);
  return found;
}

}  // namespace howl
