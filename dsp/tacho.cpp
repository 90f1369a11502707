#include "dsp/tacho.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <numeric>
#include <optional>

#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double timing_height = 0.5;  // of the pulse, where it is timed
constexpr double rearming_height = 0.25;
constexpr double smallest_height = 1e-4;  // of full scale; below is silence
constexpr double smallest_share_of_typical = 0.1;
constexpr double tolerance = 0.3;    // of a period
constexpr double longest_gap = 9.0;  // periods
constexpr std::size_t fewest_pulses = 5;
constexpr double tolerated_share = 0.05;    // of pulses missing, extra or misfit
constexpr std::size_t tolerated_count = 2;  // of them in a short take

// ---- levels: a first pass ----

/// What a block of one second shows of the signal.
struct BlockLevel {
  double base{};
  double up{};  // extremes above and below the base line
  double down{};
};

BlockLevel level_of(std::vector<float>& block) {
  const auto middle = block.begin() + static_cast<std::ptrdiff_t>(block.size() / 2);
  std::nth_element(block.begin(), middle, block.end());
  const double base = *middle;
  const auto [low, high] = std::minmax_element(block.begin(), block.end());
  return {base, *high - base, base - *low};
}

std::vector<BlockLevel> block_levels(const SamplePlayer& play, std::size_t block_length) {
  std::vector<BlockLevel> levels;
  std::vector<float> block;
  block.reserve(block_length);
  play([&](std::span<const float> samples) {
    for (const float sample : samples) {
      block.push_back(sample);
      if (block.size() < block_length) continue;
      levels.push_back(level_of(block));
      block.clear();
    }
  });
  // A short rest may hold no pulse at all, and then says nothing of their height.
  if (levels.empty() && !block.empty()) levels.push_back(level_of(block));
  return levels;
}

/// Heights with one block's spike voted out by its neighbours, and never far below the typical.
std::vector<double> robust_heights(std::span<const BlockLevel> levels, bool rising) {
  std::vector<double> raw;
  for (const BlockLevel& level : levels) raw.push_back(rising ? level.up : level.down);
  const double typical = quantile(raw, 0.75);
  std::vector<double> heights = raw;
  for (std::size_t i = 1; i + 1 < raw.size(); ++i)
    heights[i] = median(std::span(raw).subspan(i - 1, 3));
  if (raw.size() > 2) {
    heights.front() = std::min(raw.front(), 2.0 * heights[1]);
    heights.back() = std::min(raw.back(), 2.0 * heights[heights.size() - 2]);
  }
  for (double& height : heights)
    height = std::max({height, smallest_share_of_typical * typical, smallest_height});
  return heights;
}

/// Narrow pulses stand farther from the median than their opposite does.
bool pulses_rise(std::span<const BlockLevel> levels) {
  std::vector<double> difference;
  for (const BlockLevel& level : levels) difference.push_back(level.up - level.down);
  return median(difference) >= 0.0;
}

/// Base line and height at any sample, linear between the middles of blocks.
class Levels {
 public:
  Levels(std::span<const BlockLevel> blocks, std::size_t block_length)
      : rising_(pulses_rise(blocks)),
        heights_(robust_heights(blocks, rising_)),
        block_length_(static_cast<double>(block_length)) {
    for (const BlockLevel& block : blocks) bases_.push_back(block.base);
  }

  bool rising() const { return rising_; }
  bool silent() const { return std::ranges::max(heights_) <= smallest_height; }

  /// Height of a sample above the base line, 1 at the top of a pulse.
  double relative(float sample, std::size_t index) const {
    const double place = static_cast<double>(index) / block_length_ - 0.5;
    const auto last = static_cast<double>(bases_.size() - 1);
    const double clamped = std::clamp(place, 0.0, last);
    const auto left = static_cast<std::size_t>(clamped);
    const std::size_t right = std::min(left + 1, bases_.size() - 1);
    const double share = clamped - static_cast<double>(left);
    const double above = sample - std::lerp(bases_[left], bases_[right], share);
    return (rising_ ? above : -above) / std::lerp(heights_[left], heights_[right], share);
  }

 private:
  bool rising_;
  std::vector<double> heights_;
  double block_length_;
  std::vector<double> bases_;
};

// ---- pulses: a second pass ----

/// Times of all passages through half height, in samples.
std::vector<double> pulse_times(const SamplePlayer& play, const Levels& levels) {
  std::vector<double> times;
  std::size_t index = 0;
  double before = timing_height;  // so that a signal that starts inside a pulse does not count
  bool armed = false;
  play([&](std::span<const float> samples) {
    for (const float sample : samples) {
      const double now = levels.relative(sample, index);
      if (now < rearming_height) armed = true;
      if (armed && now >= timing_height) {
        times.push_back(static_cast<double>(index) - (now - timing_height) / (now - before));
        armed = false;
      }
      before = now;
      ++index;
    }
  });
  return times;
}

// ---- periods ----

/// Expects the next pulse from the last ones: rate along a least-squares line through them.
class Rhythm {
 public:
  Rhythm(double time, double period) : last_(time), rate_at_last_(1.0 / period) {}

  double last() const { return last_; }

  /// Pulses that should have passed since the last one, at a later time.
  double pulses_until(double time) const {
    const double d = time - last_;
    // A falling rate is not followed below a third: the line is no longer believed there.
    const double slope = std::max(slope_, -rate_at_last_ / (1.5 * std::max(d, 1e-300)));
    return rate_at_last_ * d + 0.5 * slope * d * d;
  }

  /// `count` whole periods ended at `time`.
  void advance(double time, double count) {
    intervals_.push_back({0.5 * (last_ + time), count / (time - last_)});
    if (intervals_.size() > remembered) intervals_.pop_front();
    last_ = time;
    fit();
  }

 private:
  static constexpr std::size_t remembered = 6;
  struct Interval {
    double middle;
    double rate;
  };

  void fit() {
    const auto n = static_cast<double>(intervals_.size());
    double middle = 0.0;
    double rate = 0.0;
    for (const Interval& i : intervals_) {
      middle += i.middle / n;
      rate += i.rate / n;
    }
    double spread = 0.0;
    double covariance = 0.0;
    for (const Interval& i : intervals_) {
      spread += (i.middle - middle) * (i.middle - middle);
      covariance += (i.middle - middle) * (i.rate - rate);
    }
    slope_ = intervals_.size() > 2 ? covariance / spread : 0.0;
    const double extrapolated = rate + slope_ * (last_ - middle);
    const double newest = intervals_.back().rate;
    rate_at_last_ = std::clamp(extrapolated, 0.6 * newest, 1.6 * newest);
  }

  std::deque<Interval> intervals_;
  double last_;
  double rate_at_last_;
  double slope_{};
};

double median_period(std::span<const double> times, std::size_t from) {
  constexpr std::size_t looked_at = 6;  // pulses: few, so that a sweep does not blur them
  const auto window = times.subspan(from, std::min(looked_at, times.size() - from));
  std::vector<double> periods(window.size());
  std::adjacent_difference(window.begin(), window.end(), periods.begin());
  return median(std::span(periods).subspan(1));
}

struct CountedPulse {
  double time{};
  std::size_t number{};  // counts missing ones too
};

struct CountedTrain {
  std::vector<CountedPulse> pulses;
  std::vector<double> missing;
  std::vector<double> extra;
  std::vector<double> misfits;
  std::vector<std::size_t> gaps;  // places in `pulses` after which some are missing
  std::optional<double> interrupted;
};

/// Of the pulses after `from` that could be the next one, the one nearest to its due time; none if
/// the first to come is late.
std::optional<std::size_t> on_time(std::span<const double> times, std::size_t from,
                                   const Rhythm& rhythm) {
  std::optional<std::size_t> best;
  double best_error = tolerance;
  for (std::size_t i = from; i < times.size(); ++i) {
    const double error = rhythm.pulses_until(times[i]) - 1.0;
    if (error > tolerance) break;
    if (std::abs(error) > best_error) continue;
    best = i;
    best_error = std::abs(error);
  }
  return best;
}

/// The first pulse after `from` that is not early.
std::optional<std::size_t> first_late(std::span<const double> times, std::size_t from,
                                      const Rhythm& rhythm) {
  for (std::size_t i = from; i < times.size(); ++i)
    if (rhythm.pulses_until(times[i]) > 1.0 + tolerance) return i;
  return std::nullopt;
}

class Counter {
 public:
  explicit Counter(std::span<const double> times)
      : times_(times), rhythm_(times.front(), median_period(times, 0)) {
    train_.pulses.push_back({times.front(), 0});
  }

  CountedTrain count() && {
    std::size_t next = 1;
    while (next < times_.size() && !train_.interrupted) next = step(next);
    return std::move(train_);
  }

 private:
  /// Takes one pulse; returns where to go on.
  std::size_t step(std::size_t next) {
    if (const auto due = on_time(times_, next, rhythm_)) {
      ignore(next, *due);
      accept(*due, 1);
      return *due + 1;
    }
    const auto late = first_late(times_, next, rhythm_);
    if (!late) {
      ignore(next, times_.size());
      return times_.size();
    }
    ignore(next, *late);
    const double passed = rhythm_.pulses_until(times_[*late]);
    if (passed > longest_gap) {
      train_.interrupted = rhythm_.last();
      return *late;
    }
    const double whole = std::round(passed);
    if (std::abs(passed - whole) <= tolerance)
      bridge(*late, static_cast<std::size_t>(whole));
    else
      restart(*late, static_cast<std::size_t>(whole));
    return *late + 1;
  }

  void ignore(std::size_t from, std::size_t to) {
    const auto early = times_.subspan(from, to - from);
    train_.extra.insert(train_.extra.end(), early.begin(), early.end());
  }

  void accept(std::size_t index, std::size_t periods) {
    rhythm_.advance(times_[index], static_cast<double>(periods));
    train_.pulses.push_back({times_[index], train_.pulses.back().number + periods});
  }

  void bridge(std::size_t index, std::size_t periods) {
    const double start = rhythm_.last();
    const double period = (times_[index] - start) / static_cast<double>(periods);
    train_.gaps.push_back(train_.pulses.size() - 1);
    for (std::size_t k = 1; k < periods; ++k)
      train_.missing.push_back(start + period * static_cast<double>(k));
    accept(index, periods);
  }

  void restart(std::size_t index, std::size_t periods) {
    train_.misfits.push_back(times_[index]);
    train_.pulses.push_back(
        {times_[index], train_.pulses.back().number + std::max<std::size_t>(periods, 1)});
    if (index + 2 < times_.size())
      rhythm_ = Rhythm(times_[index], median_period(times_, index));
    else
      rhythm_.advance(times_[index], static_cast<double>(periods));
  }

  std::span<const double> times_;
  Rhythm rhythm_;
  CountedTrain train_;
};

/// The number of pulses between gaps if it is always the same: a toothed wheel with a gap.
std::optional<std::size_t> regular_gaps(std::span<const std::size_t> gaps) {
  constexpr std::size_t fewest_gaps = 4;
  constexpr double share_alike = 0.8;
  if (gaps.size() < fewest_gaps) return std::nullopt;
  std::vector<std::size_t> between;
  for (std::size_t i = 1; i < gaps.size(); ++i) between.push_back(gaps[i] - gaps[i - 1]);
  std::ranges::sort(between);
  const std::size_t typical = between[between.size() / 2];
  const auto alike = static_cast<double>(std::ranges::count(between, typical));
  if (typical < 2 || alike < share_alike * static_cast<double>(between.size())) return std::nullopt;
  return typical;
}

std::optional<TachoFailure> failure_of(const CountedTrain& train, double sample_rate) {
  using Reason = TachoFailure::Reason;
  if (train.interrupted)
    return TachoFailure{.reason = Reason::interrupted,
                        .at = Seconds(*train.interrupted / sample_rate)};
  if (const auto between = regular_gaps(train.gaps))
    return TachoFailure{.reason = Reason::missing_teeth, .pulses_between_gaps = *between};
  const std::size_t odd = train.missing.size() + train.extra.size() + train.misfits.size();
  const double share = static_cast<double>(odd) / static_cast<double>(train.pulses.size() + odd);
  if (odd > tolerated_count && share > tolerated_share)
    return TachoFailure{.reason = Reason::irregular, .percent = 100.0 * share};
  return std::nullopt;
}

/// One angle a revolution: between teeth of unequal spacing the speed would seem to jump.
std::vector<AnglePoint> angles_of(const CountedTrain& train, const TachoSettings& settings) {
  const auto stride =
      static_cast<std::size_t>(std::max(1.0, std::round(settings.pulses_per_revolution)));
  std::vector<AnglePoint> angles;
  for (const CountedPulse& pulse : train.pulses)
    if (pulse.number % stride == 0)
      angles.push_back({Seconds(pulse.time / settings.sample_rate),
                        static_cast<double>(pulse.number) / settings.pulses_per_revolution});
  return angles;
}

std::vector<Seconds> in_seconds(std::span<const double> samples, double sample_rate) {
  std::vector<Seconds> times;
  for (const double sample : samples) times.emplace_back(sample / sample_rate);
  return times;
}

}  // namespace

std::variant<TachoReading, TachoFailure> read_tacho(const SamplePlayer& play,
                                                    const TachoSettings& settings) {
  using Reason = TachoFailure::Reason;
  const auto block_length = static_cast<std::size_t>(std::max(1.0, settings.sample_rate));
  const std::vector<BlockLevel> blocks = block_levels(play, block_length);
  if (blocks.empty()) return TachoFailure{.reason = Reason::no_pulses};
  const Levels levels(blocks, block_length);
  if (levels.silent()) return TachoFailure{.reason = Reason::no_pulses};

  const std::vector<double> times = pulse_times(play, levels);
  if (times.empty()) return TachoFailure{.reason = Reason::no_pulses};
  if (times.size() < fewest_pulses) return TachoFailure{.reason = Reason::too_few};

  const CountedTrain train = Counter(times).count();
  if (const auto failure = failure_of(train, settings.sample_rate)) return *failure;
  TachoReading reading{.angles = angles_of(train, settings),
                       .pulses = train.pulses.size(),
                       .rising = levels.rising(),
                       .missing = in_seconds(train.missing, settings.sample_rate),
                       .extra = in_seconds(train.extra, settings.sample_rate),
                       .misfits = in_seconds(train.misfits, settings.sample_rate)};
  if (reading.angles.size() < 3) return TachoFailure{.reason = Reason::too_few};
  return reading;
}

}  // namespace howl
