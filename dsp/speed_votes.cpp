#include "dsp/speed_votes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "dsp/fft.h"
#include "dsp/noise_floor.h"
#include "dsp/special_functions.h"
#include "dsp/spectrum.h"
#include "dsp/window.h"

namespace howl {

namespace {

constexpr std::size_t kVoteBlock = 2048;
constexpr std::size_t kVoteHop = 512;
constexpr std::size_t kMargin = 192;  // what the fastest rate reaches beyond a block, and the taps
constexpr double kSpacing = kVoteRate / kVoteBlock;
constexpr int kTaps = 8;
constexpr std::array<double, 13> kRates{-0.5, -0.32, -0.21, -0.13, -0.07, -0.03, 0.0,
                                        0.03, 0.07,  0.13,  0.21,  0.32,  0.5};
constexpr std::size_t kSteadyRate = 6;

// A byte holds a vote from -16 to 47.75.
constexpr double kPackStep = 0.25;
constexpr double kPackLow = -16.0;

// The orders that vote. Lines of half and whole orders closer than three lines cannot be told
// apart.
constexpr double kLowestHz = 15.0;
constexpr int kHighestHalfOrder = 48;  // order 24
constexpr double kHighestFiringOrder = 40.0;
constexpr double kClosestLines = 3.0;

/// How often an order of each kind stands out of the noise, where lines are no denser than usual.
/// Our choice; they only set how much a present line outweighs a missing one.
constexpr double kFiringSeen = 0.6;
constexpr double kWholeSeen = 0.25;
constexpr double kHalfSeen = 0.15;

struct Warp {
  std::vector<int> first;  ///< tap 0, relative to the block's first sample
  std::vector<std::array<float, kTaps>> taps;
};

/// Reads a block at moments between which the crankshaft turns equal angles, if its speed grows as
/// exp(rate·t): t = ln(1 + rate·ψ)/rate.
Warp make_warp(double rate) {
  Warp warp;
  const double middle = 0.5 * static_cast<double>(kVoteBlock);
  for (std::size_t m = 0; m < kVoteBlock; ++m) {
    const double even = (static_cast<double>(m) - middle) / kVoteRate;
    const double time = rate == 0.0 ? even : std::log1p(rate * even) / rate;
    const double position = time * kVoteRate + middle;
    const double base = std::floor(position) - 0.5 * kTaps + 1.0;
    std::array<float, kTaps> taps{};
    for (int k = 0; k < kTaps; ++k) {
      const double away = base + k - position;
      const double window = std::cos(std::numbers::pi * away / (kTaps + 1));
      taps[static_cast<std::size_t>(k)] = static_cast<float>(sinc(away) * window * window);
    }
    warp.first.push_back(static_cast<int>(base));
    warp.taps.push_back(taps);
  }
  return warp;
}

const std::vector<Warp>& warps() {
  static const std::vector<Warp> all = [] {
    std::vector<Warp> made;
    for (const double rate : kRates) made.push_back(make_warp(rate));
    return made;
  }();
  return all;
}

void read_warped(const float* block, const Warp& warp, std::span<float> out) {
  for (std::size_t m = 0; m < kVoteBlock; ++m) {
    const float* from = block + warp.first[m];
    float sum = 0.0F;
    for (std::size_t k = 0; k < kTaps; ++k) sum += warp.taps[m][k] * from[k];
    out[m] = sum;
  }
}

/// How likely a line's power q (over that of the noise) is if a tone of unknown strength, 6 to 26
/// dB over the noise with equal chances in dB, lies on it, over how likely noise alone makes it:
/// exp(q·s/(1+s))/(1+s), averaged.
double tone_over_noise(double q) {
  constexpr int steps = 12;
  double sum = 0.0;
  for (int i = 0; i <= steps; ++i) {
    const double strength = std::pow(10.0, 0.6 + 2.0 * i / steps);
    sum += std::exp(q * strength / (1.0 + strength)) / (1.0 + strength);
  }
  return sum / (steps + 1);
}

/// tone_over_noise for q in steps of 0.1; beyond, it is beyond doubt.
double likelihood_ratio(double q) {
  constexpr std::size_t cells = 400;
  static const std::vector<double> table = [] {
    std::vector<double> values;
    for (std::size_t i = 0; i <= cells; ++i)
      values.push_back(tone_over_noise(0.1 * static_cast<double>(i)));
    return values;
  }();
  return table[std::min(cells, static_cast<std::size_t>(10.0 * q))];
}

/// A strong tone lifts the lines on either side of it as well; no tone lies there. Only maxima and
/// their neighbours keep their power, the rest reads as noise does.
std::vector<double> without_flanks(const std::vector<double>& q) {
  std::vector<double> tops(q.size(), 0.0);
  for (std::size_t k = 0; k < q.size(); ++k) {
    const std::size_t low = k > 1 ? k - 1 : 0;
    const std::size_t high = std::min(q.size() - 1, k + 1);
    const bool top = q[k] >= q[low] && q[k] >= q[high];
    if (!top) tops[k] = std::max(tops[k], std::min(q[k], 1.0));
    if (top)
      for (std::size_t i = low; i <= high; ++i) tops[i] = std::max(tops[i], q[i]);
  }
  return tops;
}

constexpr double kOddLine = 6.0;  // noise reaches this in one line of 400

/// Share of lines within a quarter of their frequency that stand out, whatever makes them: the
/// chance that a line lies anywhere.
std::vector<double> clutter(const std::vector<double>& q) {
  std::vector<double> sum(q.size() + 1, 0.0);
  for (std::size_t k = 0; k < q.size(); ++k) sum[k + 1] = sum[k] + (q[k] > kOddLine ? 1.0 : 0.0);
  std::vector<double> share;
  for (std::size_t k = 0; k < q.size(); ++k) {
    const std::size_t reach = std::max<std::size_t>(20, k / 4);
    const std::size_t low = k > reach ? k - reach : 0;
    const std::size_t high = std::min(q.size(), k + reach + 1);
    const double seen = (sum[high] - sum[low]) / static_cast<double>(high - low);
    share.push_back(std::min(0.6, 0.03 + seen));
  }
  return share;
}

float line_vote(double ratio, double seen, double anywhere) {
  const double here = anywhere + (1.0 - anywhere) * seen;
  return static_cast<float>(
      std::log(((1.0 - here) + here * ratio) / ((1.0 - anywhere) + anywhere * ratio)));
}

/// What lines say of the rates of change side by side, so that one instruction reads several.
constexpr std::size_t kLanes = 16;
static_assert(kRates.size() <= kLanes);
using Lanes = std::array<float, kLanes>;

/// What a line says for an order of one kind lying on it, bounded by how rare lines are there; and
/// what a firing order says beyond the vote that it has as a whole or half order.
enum Says : std::uint8_t { whole, half, firing, firing_not_whole, firing_not_half, kinds };

/// Two lines more than votes are read from.
constexpr std::size_t kLines = static_cast<std::size_t>(kHighestVoteHz / kSpacing) + 3;

/// By kind, line and rate.
class Ballots {
 public:
  void fill(std::size_t rate, const std::vector<double>& q) {
    const std::vector<double> anywhere = clutter(q);
    for (std::size_t k = 0; k < kLines; ++k) {
      const double ratio = likelihood_ratio(q[k]);
      const float as_whole = line_vote(ratio, kWholeSeen, anywhere[k]);
      const float as_half = line_vote(ratio, kHalfSeen, anywhere[k]);
      const float as_firing = line_vote(ratio, kFiringSeen, anywhere[k]);
      says_[row(whole, k)][rate] = as_whole;
      says_[row(half, k)][rate] = as_half;
      says_[row(firing, k)][rate] = as_firing;
      says_[row(firing_not_whole, k)][rate] = as_firing - as_whole;
      says_[row(firing_not_half, k)][rate] = as_firing - as_half;
    }
  }
  static constexpr std::size_t row(Says kind, std::size_t line) { return kind * kLines + line; }
  const Lanes* rows() const { return says_.data(); }

 private:
  std::vector<Lanes> says_ = std::vector<Lanes>(kinds * kLines);
};

/// A place between two rows of the ballots.
struct Place {
  std::uint32_t row;
  float part;
};

Place place_of(Says kind, double frequency) {
  const double at = frequency / kSpacing;
  const auto line = static_cast<std::size_t>(at);
  return {static_cast<std::uint32_t>(Ballots::row(kind, line)),
          static_cast<float>(at - static_cast<double>(line))};
}

bool votes(double frequency) { return frequency >= kLowestHz && frequency <= kHighestVoteHz; }

/// Lines of half and whole orders can be told apart.
bool halves_apart(double turn_hz) { return 0.5 * turn_hz >= kClosestLines * kSpacing; }

/// Orders that are whole multiples of none, half or one revolution, all alike.
void add_common_places(double turn_hz, std::vector<Place>& places) {
  const int step = halves_apart(turn_hz) ? 1 : 2;
  for (int k = step; k <= kHighestHalfOrder; k += step) {
    const double frequency = 0.5 * k * turn_hz;
    if (votes(frequency)) places.push_back(place_of(k % 2 == 0 ? whole : half, frequency));
  }
}

/// What the firing orders of so many cylinders say beyond their vote as common orders.
void add_firing_places(double turn_hz, int cylinders, std::vector<Place>& places) {
  for (int k = 1; 0.5 * cylinders * k <= kHighestFiringOrder; ++k) {
    const double frequency = 0.5 * cylinders * k * turn_hz;
    if (!votes(frequency)) continue;
    const int halves = cylinders * k;
    Says kind = firing;
    if (halves <= kHighestHalfOrder && halves % 2 == 0) kind = firing_not_whole;
    if (halves <= kHighestHalfOrder && halves % 2 == 1 && halves_apart(turn_hz))
      kind = firing_not_half;
    places.push_back(place_of(kind, frequency));
  }
}

/// Where the orders of every candidate lie among the lines: the same for all moments.
class OrderPlaces {
 public:
  OrderPlaces(const SpeedGrid& grid, std::span<const int> cylinders) {
    for (std::size_t i = 0; i < grid.count; ++i) {
      const double turn_hz = grid.rpm(static_cast<double>(i)) / 60.0;
      begin_.push_back(places_.size());
      add_common_places(turn_hz, places_);
      for (const int c : cylinders) {
        begin_.push_back(places_.size());
        add_firing_places(turn_hz, c, places_);
      }
    }
    begin_.push_back(places_.size());
    groups_ = 1 + cylinders.size();
  }

  std::span<const Place> common(std::size_t candidate) const { return group(candidate, 0); }
  std::span<const Place> firing_of(std::size_t candidate, std::size_t engine) const {
    return group(candidate, 1 + engine);
  }

 private:
  std::span<const Place> group(std::size_t candidate, std::size_t which) const {
    const std::size_t g = candidate * groups_ + which;
    return std::span(places_).subspan(begin_[g], begin_[g + 1] - begin_[g]);
  }

  std::size_t groups_{};
  std::vector<std::size_t> begin_;
  std::vector<Place> places_;
};

Lanes sum_of(Lanes sum, std::span<const Place> places, const Lanes* rows) {
  for (const Place& place : places) {
    const Lanes& low = rows[place.row];
    const Lanes& high = rows[place.row + 1];
    for (std::size_t r = 0; r < kLanes; ++r) sum[r] += low[r] + place.part * (high[r] - low[r]);
  }
  return sum;
}

struct BestVote {
  float vote{-1e9F};
  std::size_t rate{};
};

constexpr std::array<int, 5> kUsualCylinders{3, 4, 5, 6, 8};

/// Of all rates the best: log of the mean of exp over the tried engines.
BestVote best_vote(const OrderPlaces& places, std::size_t candidate, std::size_t engines,
                   const Ballots& ballots) {
  const Lanes common = sum_of({}, places.common(candidate), ballots.rows());
  std::array<Lanes, kUsualCylinders.size()> each;
  Lanes most;
  most.fill(-1e9F);
  for (std::size_t c = 0; c < engines; ++c) {
    each[c] = sum_of(common, places.firing_of(candidate, c), ballots.rows());
    for (std::size_t r = 0; r < kLanes; ++r) most[r] = std::max(most[r], each[c][r]);
  }
  const auto count = static_cast<float>(engines);
  // The mean is at most the greatest, and at least so much of it as its share.
  const float enough =
      *std::max_element(most.begin(), most.begin() + kRates.size()) - std::log(count);
  BestVote best;
  for (std::size_t r = 0; r < kRates.size(); ++r) {
    if (most[r] < enough) continue;
    float sum = 0.0F;
    for (std::size_t c = 0; c < engines; ++c) sum += std::exp(each[c][r] - most[r]);
    const float vote = most[r] + std::log(sum / count);
    if (vote > best.vote) best = {vote, r};
  }
  return best;
}

std::uint8_t pack(double vote) {
  return static_cast<std::uint8_t>(std::clamp((vote - kPackLow) / kPackStep, 0.0, 255.0));
}

/// Spectra of one block under every rate, over the noise floor of the unwarped one.
class WarpedBlock {
 public:
  WarpedBlock()
      : fft_(kVoteBlock), window_(make_float_window()), warped_(kRates.size() * kVoteBlock) {
    power_.resize(kRates.size() * fft_.bins());
  }

  /// `block` points at the first sample, kMargin of them before it are there too.
  void look_at(const float* block) {
    for (std::size_t r = 0; r < kRates.size(); ++r)
      read_warped(block, warps()[r], std::span(warped_).subspan(r * kVoteBlock, kVoteBlock));
    fft_.power(warped_, kVoteBlock, kRates.size(), window_, power_);
    PowerSpectrum steady{kSpacing, WindowKind::hann, 1.5, 1.0, {}};
    steady.power.assign(line(kSteadyRate, 0), line(kSteadyRate, kLines));
    floor_ = noise_floor(steady, 80.0);
  }

  void fill(Ballots& ballots) const {
    std::vector<double> q(kLines);
    for (std::size_t rate = 0; rate < kRates.size(); ++rate) {
      for (std::size_t k = 0; k < kLines; ++k)
        q[k] = floor_[k] > 0.0 ? static_cast<double>(*line(rate, k)) / floor_[k] : 0.0;
      ballots.fill(rate, without_flanks(q));
    }
  }

 private:
  static std::vector<float> make_float_window() {
    const std::vector<double> exact = make_window(WindowKind::hann, kVoteBlock);
    return {exact.begin(), exact.end()};
  }
  const float* line(std::size_t rate, std::size_t k) const {
    return power_.data() + rate * fft_.bins() + k;
  }

  RealFft fft_;
  std::vector<float> window_;
  std::vector<float> warped_;
  std::vector<float> power_;
  std::vector<double> floor_;
};

}  // namespace

double SpeedGrid::rpm(double place) const { return lowest_rpm * std::exp(log_step * place); }

double SpeedGrid::place(double rpm) const { return std::log(rpm / lowest_rpm) / log_step; }

SpeedGrid SpeedGrid::over(Interval rpm) {
  SpeedGrid grid;
  grid.lowest_rpm = rpm.low;
  grid.count = 0;
  if (!(rpm.high >= rpm.low)) return grid;
  grid.count = static_cast<std::size_t>(std::ceil(grid.place(rpm.high))) + 1;
  return grid;
}

double SpeedVotes::vote(std::size_t moment, std::size_t candidate) const {
  return kPackLow + kPackStep * packed[moment * grid.count + candidate];
}

double SpeedVotes::rate(std::size_t moment, std::size_t candidate) const {
  return kRates[static_cast<unsigned char>(packed_rate[moment * grid.count + candidate])];
}

SpeedVotes count_speed_votes(std::span<const float> sound, const SpeedGrid& grid,
                             std::optional<int> cylinders) {
  SpeedVotes votes;
  votes.grid = grid;
  votes.first_time = (kMargin + 0.5 * kVoteBlock) / kVoteRate;
  if (sound.size() < kVoteBlock + 2 * kMargin) return votes;
  votes.moments = (sound.size() - kVoteBlock - 2 * kMargin) / kVoteHop + 1;
  votes.packed.resize(votes.moments * grid.count);
  votes.packed_rate.resize(votes.moments * grid.count);
  const std::vector<int> tried =
      cylinders ? std::vector<int>{*cylinders}
                : std::vector<int>(kUsualCylinders.begin(), kUsualCylinders.end());
  const OrderPlaces places(grid, tried);
  WarpedBlock block;
  Ballots ballots;
  for (std::size_t m = 0; m < votes.moments; ++m) {
    block.look_at(sound.data() + m * kVoteHop + kMargin);
    block.fill(ballots);
    for (std::size_t i = 0; i < grid.count; ++i) {
      const BestVote best = best_vote(places, i, tried.size(), ballots);
      votes.packed[m * grid.count + i] = pack(best.vote);
      votes.packed_rate[m * grid.count + i] = static_cast<std::int8_t>(best.rate);
    }
  }
  return votes;
}

}  // namespace howl
