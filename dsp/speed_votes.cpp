#include "dsp/speed_votes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "dsp/warped_spectra.h"

namespace howl {

namespace {

constexpr std::size_t kBlock = WarpedSpectra::block;
constexpr std::size_t kMargin = WarpedSpectra::margin;
constexpr std::size_t kHop = 512;
static_assert(kHop == kVoteStep * kVoteRate);
constexpr double kSpacing = kVoteRate / kBlock;

// A byte holds a vote from -16 to 47.75.
constexpr double kPackStep = 0.25;
constexpr double kPackLow = -16.0;

// The orders that vote. Lines of half and whole orders closer than three lines cannot be told
// apart.
constexpr double kLowestHz = 15.0;
constexpr int kHighestHalfOrder = 48;  // order 24
constexpr int kMostHalfOrders = 80;    // order 40, of the firing alone
constexpr double kClosestLines = 3.0;

/// How often an order of each kind stands out of the noise, where lines are no denser than usual.
/// Our choice; they only set how much a present line outweighs a missing one.
constexpr double kFiringSeen = 0.6;
constexpr double kWholeSeen = 0.25;
constexpr double kHalfSeen = 0.15;

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

/// A strong tone lifts the lines on either side of it as well; no tone lies there. Only maxima and
/// their neighbours keep their power, the rest reads as noise does.
std::vector<double> without_flanks(std::span<const double> q) {
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

/// What a line says for an order of each kind lying on it. Bounded by how rare lines are there.
struct LineVote {
  float firing;
  float whole;
  float half;
};

/// Votes of a line by its power over the noise, and by the share of lines about it that stand out,
/// whatever makes them: the chance that a line lies anywhere.
class VoteTable {
 public:
  VoteTable() {
    for (std::size_t row = 0; row < kRows; ++row) {
      const double anywhere = kLeastShare * std::exp(kShareStep * static_cast<double>(row));
      for (std::size_t p = 0; p < kPowers; ++p) {
        const double ratio = tone_over_noise(kPowerStep * static_cast<double>(p));
        votes_.push_back({line_vote(ratio, kFiringSeen, anywhere),
                          line_vote(ratio, kWholeSeen, anywhere),
                          line_vote(ratio, kHalfSeen, anywhere)});
      }
    }
  }

  const LineVote& at(std::size_t row, double power) const {
    const double cell = std::min(power / kPowerStep, static_cast<double>(kPowers - 1));
    return votes_[row * kPowers + static_cast<std::size_t>(cell)];
  }
  static std::size_t row_of(double standing_out) {
    const double share = std::min(kMostShare, kLeastShare + standing_out);
    return static_cast<std::size_t>(std::lround(std::log(share / kLeastShare) / kShareStep));
  }

 private:
  static constexpr double kPowerStep = 0.1;
  static constexpr std::size_t kPowers = 401;  // from power 40 on a tone is beyond doubt
  static constexpr double kLeastShare = 0.03;
  static constexpr double kMostShare = 0.6;
  static constexpr double kShareStep = 0.05;
  static constexpr std::size_t kRows = 61;  // the most over the least share is exp(3)

  static float line_vote(double ratio, double seen, double anywhere) {
    const double here = anywhere + (1.0 - anywhere) * seen;
    return static_cast<float>(
        std::log(((1.0 - here) + here * ratio) / ((1.0 - anywhere) + anywhere * ratio)));
  }

  std::vector<LineVote> votes_;
};

constexpr double kOddLine = 6.0;  // noise reaches this in one line of 400

/// Number of lines below each that stand out.
std::vector<std::size_t> odd_lines_below(const std::vector<double>& q) {
  std::vector<std::size_t> below{0};
  for (const double power : q) below.push_back(below.back() + (power > kOddLine ? 1 : 0));
  return below;
}

struct Ballot {
  std::vector<float> firing;
  std::vector<float> whole;
  std::vector<float> half;
};

Ballot make_ballot(const std::vector<double>& q) {
  static const VoteTable table;
  const std::vector<std::size_t> odd = odd_lines_below(q);
  Ballot ballot;
  for (std::size_t k = 0; k < q.size(); ++k) {
    const std::size_t reach = std::max<std::size_t>(20, k / 4);
    const std::size_t low = k > reach ? k - reach : 0;
    const std::size_t high = std::min(q.size(), k + reach + 1);
    const double share =
        static_cast<double>(odd[high] - odd[low]) / static_cast<double>(high - low);
    const LineVote& vote = table.at(VoteTable::row_of(share), q[k]);
    ballot.firing.push_back(vote.firing);
    ballot.whole.push_back(vote.whole);
    ballot.half.push_back(vote.half);
  }
  return ballot;
}

using Four = float __attribute__((vector_size(4 * sizeof(float))));

/// Candidates whose votes are summed side by side.
constexpr std::size_t kTile = 16;
using Tile = std::array<Four, kTile / 4>;

/// Four floats anywhere in memory.
struct __attribute__((packed, may_alias)) Unaligned {
  Four value;
};

Four load(const float* from) { return reinterpret_cast<const Unaligned*>(from)->value; }

/// The axis on which ballots are read: frequencies in equal ratios, from half the crankshaft's
/// rate at candidate 0, so that an order is as far from it for every candidate. There are kFine
/// cells for a step between candidates, an eighth of a step being the most that a reading is off.
/// They lie in kFine rows, so that what one order reads for successive candidates is successive.
class LogAxis {
 public:
  explicit LogAxis(const SpeedGrid& grid)
      : step_(grid.log_step), lowest_hz_(0.5 * grid.rpm(0.0) / 60.0) {
    row_ = place(kMostHalfOrders) / kFine + grid.count + 1 + kTile;
    for (std::size_t cell = 0; cell < cells(); ++cell) {
      const std::size_t fine = cell / row_;
      const double steps =
          static_cast<double>(cell % row_) + static_cast<double>(fine) / static_cast<double>(kFine);
      const double frequency = lowest_hz_ * std::exp(step_ * steps);
      if (frequency < kLowestHz || frequency > kHighestVoteHz) continue;
      const double line = frequency / kSpacing;
      const auto below = static_cast<std::uint32_t>(line);
      reads_.push_back({static_cast<std::uint32_t>(cell), below, static_cast<float>(line - below)});
    }
    for (int k = 1; k <= kMostHalfOrders; ++k)
      starts_.push_back((place(k) % kFine) * row_ + place(k) / kFine);
  }

  std::size_t cells() const { return kFine * row_; }

  /// Cell of order half_orders/2 for candidate 0; those of the others follow.
  std::size_t start(int half_orders) const {
    return starts_[static_cast<std::size_t>(half_orders) - 1];
  }

  /// Values by line, read along the axis; cells out of reach are left alone.
  void read(const std::vector<float>& by_line, std::vector<float>& by_cell) const {
    for (const Read& r : reads_) {
      const float* const at = by_line.data() + r.line;
      by_cell[r.cell] = at[0] + r.part * (at[1] - at[0]);
    }
  }

 private:
  static constexpr std::size_t kFine = 4;
  struct Read {
    std::uint32_t cell;
    std::uint32_t line;
    float part;
  };

  std::size_t place(int half_orders) const {
    return static_cast<std::size_t>(
        std::lround(static_cast<double>(kFine) * std::log(half_orders) / step_));
  }

  double step_;
  double lowest_hz_;
  std::size_t row_{};
  std::vector<Read> reads_;
  std::vector<std::size_t> starts_;
};

void add(Tile& sum, const float* values) {
  for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += load(values + 4 * i);
}

void add_difference(Tile& sum, const float* plus, const float* minus) {
  for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += load(plus + 4 * i) - load(minus + 4 * i);
}

/// Sums of a ballot over the orders of each candidate.
class OrderSums {
 public:
  OrderSums(const SpeedGrid& grid, std::vector<int> cylinders)
      : grid_(grid), axis_(grid), cylinders_(std::move(cylinders)) {
    for (std::vector<float>* cells : {&firing_, &whole_, &half_}) cells->resize(axis_.cells());
  }

  void read(const Ballot& ballot) {
    axis_.read(ballot.firing, firing_);
    axis_.read(ballot.whole, whole_);
    axis_.read(ballot.half, half_);
  }

  /// Keeps in `best` what exceeds it, and marks it as `rate`.
  void keep_best(std::span<float> best, std::span<std::int8_t> rates, std::int8_t rate) const {
    const double apart_from = std::ceil(grid_.place(60.0 * 2.0 * kClosestLines * kSpacing));
    const auto split =
        static_cast<std::size_t>(std::clamp(apart_from, 0.0, static_cast<double>(grid_.count)));
    std::array<Tile, kMostKinds> sums{};
    for (std::size_t from = 0; from < grid_.count;) {
      const bool halves_apart = from >= split;
      const std::size_t end = std::min(from + kTile, halves_apart ? grid_.count : split);
      sum_tile(from, halves_apart, sums);
      for (std::size_t i = from; i < end; ++i) {
        const float sum = mean_over_kinds(sums, i - from, best[i]);
        if (sum <= best[i]) continue;
        best[i] = sum;
        rates[i] = rate;
      }
      from = end;
    }
  }

 private:
  static constexpr std::size_t kMostKinds = 8;

  const float* cell(const std::vector<float>& cells, int half_orders, std::size_t from) const {
    return cells.data() + axis_.start(half_orders) + from;
  }

  void sum_tile(std::size_t from, bool halves_apart, std::array<Tile, kMostKinds>& sums) const {
    const double turn_hz = grid_.rpm(static_cast<double>(from)) / 60.0;
    const int highest = static_cast<int>(2.0 * kHighestVoteHz / turn_hz);
    const Tile common = common_votes(from, halves_apart, highest);
    for (std::size_t c = 0; c < cylinders_.size(); ++c) {
      sums[c] = common;
      add_firing(sums[c], from, halves_apart, highest, cylinders_[c]);
    }
  }

  /// Orders that are whole multiples of none, half or one revolution, all alike.
  Tile common_votes(std::size_t from, bool halves_apart, int highest) const {
    Tile sum{};
    const int last = std::min(highest, kHighestHalfOrder);
    for (int k = 2; k <= last; k += 2) add(sum, cell(whole_, k, from));
    if (halves_apart)
      for (int k = 1; k <= last; k += 2) add(sum, cell(half_, k, from));
    return sum;
  }

  /// What the firing orders of so many cylinders say beyond their vote as common orders.
  void add_firing(Tile& sum, std::size_t from, bool halves_apart, int highest,
                  int cylinders) const {
    for (int k = cylinders; k <= std::min(highest, kMostHalfOrders); k += cylinders) {
      const float* const firing = cell(firing_, k, from);
      if (k > kHighestHalfOrder || (k % 2 == 1 && !halves_apart))
        add(sum, firing);
      else
        add_difference(sum, firing, cell(k % 2 == 0 ? whole_ : half_, k, from));
    }
  }

  /// log of the mean of exp over the tried numbers of cylinders; any value below `beaten` where it
  /// cannot be more.
  float mean_over_kinds(const std::array<Tile, kMostKinds>& sums, std::size_t i,
                        float beaten) const {
    float most = sums[0][i / 4][i % 4];
    for (std::size_t c = 1; c < cylinders_.size(); ++c)
      most = std::max(most, sums[c][i / 4][i % 4]);
    if (most <= beaten) return most;
    float sum = 0.0F;
    for (std::size_t c = 0; c < cylinders_.size(); ++c)
      sum += std::exp(sums[c][i / 4][i % 4] - most);
    return most + std::log(sum / static_cast<float>(cylinders_.size()));
  }

  const SpeedGrid& grid_;
  LogAxis axis_;
  std::vector<int> cylinders_;
  std::vector<float> firing_;
  std::vector<float> whole_;
  std::vector<float> half_;
};

std::uint8_t pack(double vote) {
  return static_cast<std::uint8_t>(std::clamp((vote - kPackLow) / kPackStep, 0.0, 255.0));
}

/// Two lines more than votes are read from.
constexpr std::size_t kLines = static_cast<std::size_t>(kHighestVoteHz / kSpacing) + 3;

constexpr std::array<int, 5> kUsualCylinders{3, 4, 5, 6, 8};

}  // namespace

double SpeedGrid::rpm(double place) const { return lowest_rpm * std::exp(log_step * place); }

double SpeedGrid::place(double rpm) const { return std::log(rpm / lowest_rpm) / log_step; }

SpeedGrid SpeedGrid::over(Interval rpm) {
  SpeedGrid grid;
  grid.lowest_rpm = rpm.low;
  grid.count = static_cast<std::size_t>(std::ceil(grid.place(rpm.high))) + 1;
  return grid;
}

double SpeedVotes::vote(std::size_t moment, std::size_t candidate) const {
  return kPackLow + kPackStep * packed[moment * grid.count + candidate];
}

double SpeedVotes::rate(std::size_t moment, std::size_t candidate) const {
  return kWarpRates[static_cast<std::uint8_t>(packed_rate[moment * grid.count + candidate])];
}

SpeedVotes count_speed_votes(std::span<const float> sound, const SpeedGrid& grid,
                             std::optional<int> cylinders) {
  SpeedVotes votes;
  votes.grid = grid;
  votes.first_time = (kMargin + 0.5 * kBlock) / kVoteRate;
  if (sound.size() < kBlock + 2 * kMargin) return votes;
  votes.moments = (sound.size() - kBlock - 2 * kMargin) / kHop + 1;
  votes.packed.resize(votes.moments * grid.count);
  votes.packed_rate.resize(votes.moments * grid.count);
  const std::vector<int> tried =
      cylinders ? std::vector<int>{*cylinders}
                : std::vector<int>(kUsualCylinders.begin(), kUsualCylinders.end());
  OrderSums sums(votes.grid, tried);
  WarpedSpectra spectra(kVoteRate, kLines);
  std::vector<float> best(grid.count);
  for (std::size_t m = 0; m < votes.moments; ++m) {
    spectra.look_at(sound.subspan(m * kHop));
    std::fill(best.begin(), best.end(), -1e9F);
    const std::span rates = std::span(votes.packed_rate).subspan(m * grid.count, grid.count);
    for (std::size_t r = 0; r < kWarpRates.size(); ++r) {
      sums.read(make_ballot(without_flanks(spectra.over_noise(r))));
      sums.keep_best(best, rates, static_cast<std::int8_t>(r));
    }
    for (std::size_t i = 0; i < grid.count; ++i) votes.packed[m * grid.count + i] = pack(best[i]);
  }
  return votes;
}

}  // namespace howl
