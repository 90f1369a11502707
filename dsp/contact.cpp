#include "dsp/contact.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numbers>

namespace howl {

namespace {

constexpr double kFrameSeconds = 0.045;
constexpr double kLowestOctave = 125.0;
constexpr std::size_t kFirstUpper = 2;  // 500 Hz

constexpr double kContactCellSeconds = 0.5;
constexpr double kReachSeconds = 30.0;
constexpr double kLikeSpeed = 0.25;
constexpr std::size_t kLeastCells = 4;
constexpr double kSmoothSeconds = 0.15;
constexpr double kLostDb = 15.0;
constexpr double kLooseDb = 6.0;
constexpr double kLooseUpperDb = 10.0;
constexpr double kLeastLost = 0.15;
constexpr double kLeastLoose = 0.4;

constexpr double kKnockDb = 10.0;
constexpr double kKnockReach = 2.0;
constexpr double kLeastKnockWindow = 1.0;
constexpr double kSetBackSeconds = 0.2;
constexpr double kLongestKnock = 0.5;
constexpr double kMostKnocksPerSecond = 1.0;

std::size_t frame_length(double rate) {
  return std::bit_ceil(static_cast<std::size_t>(std::max(64.0, 0.75 * kFrameSeconds * rate)));
}

/// Octaves from 125 Hz that fit below 0.45 of the sample rate.
std::size_t octaves_below(double sample_rate, std::size_t most) {
  std::size_t count = 0;
  while (count < most &&
         kLowestOctave * std::pow(2.0, static_cast<double>(count + 1)) < 0.45 * sample_rate)
    ++count;
  return count;
}

/// Runs of `true` at least `least` seconds long.
TimeSpans spans_of(const std::vector<bool>& flags, double step, double least) {
  TimeSpans spans;
  for (std::size_t i = 0; i < flags.size();) {
    std::size_t end = i;
    while (end < flags.size() && flags[end]) ++end;
    const double from = (static_cast<double>(i) + 0.5) * step;
    const double to = (static_cast<double>(end) + 0.5) * step;
    if (end > i && to - from >= least) spans.push_back({from, to});
    i = std::max(end, i + 1);
  }
  return spans;
}

}  // namespace

ContactFinder::ContactFinder(double sample_rate, std::optional<SpeedCurve> speed)
    : speed_(std::move(speed)),
      spectrogram_({WindowKind::hann, frame_length(sample_rate), frame_length(sample_rate) / 2}),
      spacing_(sample_rate / static_cast<double>(frame_length(sample_rate))),
      hop_seconds_(0.5 / spacing_),
      octaves_(octaves_below(sample_rate, kMostOctaves)) {}

void ContactFinder::take_columns(std::size_t, std::span<const float> columns) {
  const std::size_t lines = spectrogram_.lines();
  std::vector<float> own;
  for (std::size_t c = 0; c * lines < columns.size(); ++c) {
    const auto power = columns.subspan(c * lines, lines);
    Levels levels{};
    for (std::size_t o = 0; o < octaves_; ++o) {
      const double low = kLowestOctave * std::pow(2.0, static_cast<double>(o));
      const auto from = static_cast<std::ptrdiff_t>(std::ceil(low / spacing_));
      const auto to = static_cast<std::ptrdiff_t>(std::ceil(2.0 * low / spacing_));
      own.assign(power.begin() + from, power.begin() + to);
      const auto middle = own.begin() + static_cast<std::ptrdiff_t>(own.size() / 2);
      std::nth_element(own.begin(), middle, own.end());
      levels[o] = 10.0F * std::log10(std::max(*middle, 1e-20F));
    }
    frames_.push_back(levels);
  }
}

void ContactFinder::push(std::span<const float> samples) {
  spectrogram_.push(samples, [this](std::size_t first, std::span<const float> columns) {
    take_columns(first, columns);
  });
}

double ContactFinder::median_over_octaves(const Levels& values) const {
  std::array<double, kMostOctaves> copy{};
  std::copy_n(values.begin(), octaves_, copy.begin());
  return median(std::span(copy).first(octaves_));
}

/// What each cell's octaves usually are; none where too few cells are alike.
std::vector<std::optional<ContactFinder::Levels>> ContactFinder::usual_levels(
    std::size_t cell) const {
  const std::size_t cells = frames_.size() / cell;
  std::vector<Levels> own(cells);
  std::vector<double> rpm(cells, 1.0);
  std::vector<double> values;
  for (std::size_t i = 0; i < cells; ++i) {
    for (std::size_t o = 0; o < octaves_; ++o) {
      values.clear();
      for (std::size_t f = i * cell; f < (i + 1) * cell; ++f)
        values.push_back(static_cast<double>(frames_[f][o]));
      own[i][o] = static_cast<float>(median(values));
    }
    if (speed_)
      rpm[i] =
          speed_->at(Seconds(time_of((static_cast<double>(i) + 0.5) * static_cast<double>(cell))))
              .value;
  }
  const auto reach = static_cast<std::size_t>(kReachSeconds / kContactCellSeconds);
  std::vector<std::optional<Levels>> usual(cells);
  for (std::size_t i = 0; i < cells; ++i) {
    std::vector<std::size_t> alike;
    for (std::size_t j = i > reach ? i - reach : 0; j < std::min(cells, i + reach + 1); ++j)
      if (std::abs(std::log(rpm[j] / rpm[i])) < kLikeSpeed) alike.push_back(j);
    if (alike.size() < kLeastCells) continue;
    Levels levels{};
    for (std::size_t o = 0; o < octaves_; ++o) {
      values.clear();
      for (const std::size_t j : alike) values.push_back(static_cast<double>(own[j][o]));
      levels[o] = static_cast<float>(quantile(values, 0.75));
    }
    usual[i] = levels;
  }
  return usual;
}

void ContactFinder::find_drops(ContactFaults& faults) const {
  const auto cell = static_cast<std::size_t>(std::lround(kContactCellSeconds / hop_seconds_));
  const std::vector<std::optional<Levels>> usual = usual_levels(cell);
  const auto half = static_cast<std::size_t>(0.5 * kSmoothSeconds / hop_seconds_);
  std::vector<bool> lost(frames_.size());
  std::vector<bool> loose(frames_.size());
  std::vector<double> upper(frames_.size());
  for (std::size_t i = 0; i < frames_.size(); ++i) {
    if (usual.empty()) break;
    const auto& expected = usual[std::min(i / cell, usual.size() - 1)];
    if (!expected) continue;
    const std::size_t from = i > half ? i - half : 0;
    const std::size_t to = std::min(frames_.size(), i + half + 1);
    Levels drop{};
    for (std::size_t o = 0; o < octaves_; ++o) {
      float sum = 0.0F;
      for (std::size_t f = from; f < to; ++f) sum += frames_[f][o];
      drop[o] = (*expected)[o] - sum / static_cast<float>(to - from);
    }
    for (std::size_t o = kFirstUpper; o < octaves_; ++o)
      upper[i] += static_cast<double>(drop[o]) / static_cast<double>(octaves_ - kFirstUpper);
    const double middle = median_over_octaves(drop);
    lost[i] = middle >= kLostDb;
    loose[i] = !lost[i] && middle >= kLooseDb && upper[i] >= kLooseUpperDb;
  }
  faults.lost = merged(spans_of(lost, hop_seconds_, kLeastLost), hop_seconds_, 0.1);
  for (const Interval& span : spans_of(loose, hop_seconds_, kLeastLoose))
    faults.loose.push_back(span);
  double sum = 0.0;
  double frames = 0.0;
  for (std::size_t i = 0; i < frames_.size(); ++i)
    if (loose[i]) {
      sum += upper[i];
      frames += 1.0;
    }
  if (!faults.loose.empty()) faults.loose_drop_db = sum / frames;
}

/// The quantile of each octave over the frames from … to.
ContactFinder::Levels ContactFinder::octave_quantiles(std::size_t from, std::size_t to,
                                                      double p) const {
  Levels levels{};
  std::vector<double> values;
  for (std::size_t o = 0; o < octaves_; ++o) {
    values.clear();
    for (std::size_t f = from; f < to; ++f) values.push_back(static_cast<double>(frames_[f][o]));
    levels[o] = static_cast<float>(quantile(values, p));
  }
  return levels;
}

/// Frames in which the median octave stands 10 dB over the quantile of the four seconds about them.
TimeSpans ContactFinder::stand_out(double p) const {
  const auto reach = static_cast<std::size_t>(kKnockReach / hop_seconds_);
  const auto step = std::max<std::size_t>(1, reach / 4);
  std::vector<bool> high(frames_.size());
  for (std::size_t start = 0; start < frames_.size(); start += step) {
    const std::size_t from = start > reach ? start - reach : 0;
    const std::size_t to = std::min(frames_.size(), start + step + reach);
    if (static_cast<double>(to - from) * hop_seconds_ < kLeastKnockWindow) continue;
    const Levels usual = octave_quantiles(from, to, p);
    for (std::size_t i = start; i < std::min(frames_.size(), start + step); ++i) {
      Levels over{};
      for (std::size_t o = 0; o < octaves_; ++o) over[o] = frames_[i][o] - usual[o];
      high[i] = median_over_octaves(over) >= kKnockDb;
    }
  }
  return spans_of(high, hop_seconds_, 0.0);
}

TimeSpans ContactFinder::find_knocks() const {
  TimeSpans knocks = stand_out(0.9);
  if (knocks.empty()) return knocks;
  const double seconds = static_cast<double>(frames_.size()) * hop_seconds_;
  const bool rattles =
      static_cast<double>(stand_out(0.5).size()) > std::max(3.0, kMostKnocksPerSecond * seconds);
  if (rattles) return {};
  std::erase_if(knocks, [](const Interval& span) { return span.width() > kLongestKnock; });
  return merged(std::move(knocks), hop_seconds_, 0.1);
}

std::optional<double> ContactFinder::usual_density() const {
  constexpr std::size_t octaves = 2;
  if (frames_.empty() || octaves_ < kFirstUpper + octaves) return std::nullopt;
  double sum_db = 0.0;
  std::vector<double> values;
  for (std::size_t o = kFirstUpper; o < kFirstUpper + octaves; ++o) {
    values.clear();
    for (const Levels& frame : frames_) values.push_back(static_cast<double>(frame[o]));
    sum_db += median(values) / static_cast<double>(octaves);
  }
  // The median of a line of noise is ln 2 of its mean (chi-square, two degrees of freedom).
  constexpr double hann_bins = 1.5;
  return std::pow(10.0, sum_db / 10.0) / std::numbers::ln2 / (hann_bins * spacing_);
}

ContactFaults ContactFinder::finish() {
  spectrogram_.flush(
      [this](std::size_t first, std::span<const float> columns) { take_columns(first, columns); });
  ContactFaults faults;
  if (octaves_ < 3 || frames_.empty()) return faults;
  find_drops(faults);
  faults.knocks = find_knocks();
  // A probe that comes back knocks; that is not another fault.
  TimeSpans off = faults.lost;
  off.insert(off.end(), faults.loose.begin(), faults.loose.end());
  off = merged(std::move(off), kSetBackSeconds);
  std::erase_if(faults.knocks,
                [&](const Interval& knock) { return reaches_into(off, knock.low, knock.high); });
  return faults;
}

}  // namespace howl
