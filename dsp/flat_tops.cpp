#include "dsp/flat_tops.h"

#include <algorithm>
#include <cmath>

namespace howl {

namespace {

constexpr double kTopSeconds = 0.25;
constexpr float kFullScale = 0.985F;
constexpr float kOneCeiling = 0.02F;  // of the extreme
constexpr std::int64_t kLeastTops = 5;
constexpr float kRoundedSteps = 2.0F;  // rounding flattens a top by one step on either side

struct TopShape {
  float room;  // below the extreme, as a share of it
  std::size_t least_samples;
  float steepness;  // s·k/4 over the room, from which a top is flat
};
constexpr TopShape kBroadTop{0.01F, 3, 3.0F};
constexpr TopShape kPairTop{0.0005F, 2, 12.0F};

/// Samples first … end−1 stand above the floor of a top, their neighbours do not.
bool is_flat(std::span<const float> x, float sign, std::size_t first, std::size_t end,
             const TopShape& shape, float room) {
  const auto count = end - first;
  if (count < shape.least_samples || first == 0 || end == x.size()) return false;
  // Slopes over a quarter of the top's length: a slow flank climbs less than a step a sample.
  const std::size_t reach = std::min({std::max<std::size_t>(1, count / 4), first, x.size() - end});
  const float entry = sign * (x[first] - x[first - reach]) / static_cast<float>(reach);
  const float exit = sign * (x[end - 1] - x[end - 1 + reach]) / static_cast<float>(reach);
  return 0.125F * (entry + exit) * static_cast<float>(count) > shape.steepness * room;
}

float smallest_step(std::span<const float> x) {
  float step = 0.0F;
  for (std::size_t i = 1; i < x.size(); ++i) {
    const float move = std::abs(x[i] - x[i - 1]);
    if (move > 0.0F && (step == 0.0F || move < step)) step = move;
  }
  return step;
}

bool all_equal(std::span<const float> run) {
  return std::all_of(run.begin(), run.end(), [&](float v) { return v == run.front(); });
}

}  // namespace

FlatTopFinder::FlatTopFinder(double sample_rate)
    : sample_rate_(sample_rate),
      length_(std::max<std::size_t>(64, static_cast<std::size_t>(kTopSeconds * sample_rate))) {}

FlatTopFinder::Side FlatTopFinder::examine(std::span<const float> x, float sign, float step) {
  Side side;
  side.extreme = sign * x.front();
  for (const float v : x) side.extreme = std::max(side.extreme, sign * v);
  if (side.extreme <= 0.0F) return side;
  for (const TopShape& shape : {kBroadTop, kPairTop}) {
    const float floor = side.extreme - shape.room * side.extreme;
    const float room = std::max(shape.room * side.extreme, kRoundedSteps * step);
    std::int64_t runs = 0;
    std::int64_t samples = 0;
    for (std::size_t i = 0; i < x.size();) {
      if (sign * x[i] < floor) {
        ++i;
        continue;
      }
      std::size_t end = i + 1;
      while (end < x.size() && sign * x[end] >= floor) ++end;
      const bool flat = is_flat(x, sign, i, end, shape, room);
      const bool stuck =
          side.extreme >= kFullScale && end - i >= 3 && all_equal(x.subspan(i, end - i));
      side.equal_at_full_scale = side.equal_at_full_scale || stuck;
      if (flat || stuck) {
        ++runs;
        samples += static_cast<std::int64_t>(end - i);
      }
      i = end;
    }
    side.runs = std::max(side.runs, runs);
    side.samples = std::max(side.samples, samples);
  }
  return side;
}

void FlatTopFinder::end_block() {
  if (pending_.empty()) return;
  const float step = smallest_step(pending_);
  blocks_.push_back(
      {examine(pending_, 1.0F, step), examine(pending_, -1.0F, step), pending_.size()});
  pending_.clear();
}

void FlatTopFinder::push(std::span<const float> samples) {
  while (!samples.empty()) {
    const std::size_t part = std::min(samples.size(), length_ - pending_.size());
    pending_.insert(pending_.end(), samples.begin(),
                    samples.begin() + static_cast<std::ptrdiff_t>(part));
    samples = samples.subspan(part);
    if (pending_.size() == length_) end_block();
  }
}

FlatTops FlatTopFinder::finish() {
  end_block();

  FlatTops found;
  std::vector<std::int64_t> flat(blocks_.size(), 0);
  int sides = 0;
  for (Side Block::*which : {&Block::upper, &Block::lower}) {
    float ceiling = 0.0F;
    for (const Block& b : blocks_) ceiling = std::max(ceiling, (b.*which).extreme);
    std::int64_t runs = 0;
    bool proof = false;
    const auto at_ceiling = [&](const Side& side) {
      return side.runs > 0 && side.extreme >= (1.0F - kOneCeiling) * ceiling;
    };
    for (const Block& b : blocks_) {
      if (!at_ceiling(b.*which)) continue;
      runs += (b.*which).runs;
      proof = proof || (b.*which).equal_at_full_scale;
    }
    if (runs < kLeastTops && !proof) continue;
    ++sides;
    found.runs += runs;
    found.ceiling = std::max(found.ceiling, static_cast<double>(ceiling));
    for (std::size_t i = 0; i < blocks_.size(); ++i)
      if (at_ceiling(blocks_[i].*which)) flat[i] += (blocks_[i].*which).samples;
  }
  found.one_sided = sides == 1;
  double start = 0.0;
  std::int64_t within = 0;
  for (std::size_t i = 0; i < blocks_.size(); ++i) {
    const double end = start + static_cast<double>(blocks_[i].length) / sample_rate_;
    if (flat[i] > 0) {
      found.spans.push_back({start, end});
      found.samples += flat[i];
      within += static_cast<std::int64_t>(blocks_[i].length);
    }
    start = end;
  }
  found.spans = merged(std::move(found.spans), 0.0, 0.5 / sample_rate_);
  if (within > 0)
    found.share_within = static_cast<double>(found.samples) / static_cast<double>(within);
  return found;
}

}  // namespace howl
