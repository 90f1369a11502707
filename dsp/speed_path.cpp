#include "dsp/speed_path.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

namespace howl {

namespace {

constexpr std::size_t at(int place) { return static_cast<std::size_t>(place); }

/// Blocks overlap and orders share their causes, so that votes are not as many as they look.
constexpr double kTrust = 0.4;
constexpr double kNever = -1e12;
/// A course whose votes fall below this share of the moment's best is losing the engine; it may not
/// cut across from one multiple of the speed to another.
constexpr double kFollowed = 0.5;

constexpr int kStrayReach = 12;

/// log of the chance that the speed strays so many candidates from where its own rate takes it.
std::array<double, 2 * kStrayReach + 1> stray_chances() {
  std::array<double, 2 * kStrayReach + 1> chance{};
  for (int d = -kStrayReach; d <= kStrayReach; ++d) {
    const double usual = std::exp(-0.5 * d * d / (1.6 * 1.6)) / (1.6 * 2.507);
    const double rare = std::exp(-std::abs(d) / 5.0) / 10.0;
    chance[at(d + kStrayReach)] = std::log(0.97 * usual + 0.03 * rare);
  }
  return chance;
}

bool is_blocked(std::span<const SpeedCorridor> blocked, std::size_t moment, double place) {
  return std::any_of(blocked.begin(), blocked.end(),
                     [&](const SpeedCorridor& c) { return c.places[moment].contains(place); });
}

class Trellis {
 public:
  Trellis(const SpeedVotes& votes, std::span<const SpeedCorridor> blocked,
          const SpeedCorridor* within)
      : votes_(votes), blocked_(blocked), within_(within), count_(votes.grid.count) {
    for (std::size_t m = 0; m < votes.moments; ++m) {
      double strongest = 0.0;
      for (std::size_t i = 0; i < count_; ++i) strongest = std::max(strongest, votes.vote(m, i));
      strongest_.push_back(strongest);
    }
  }

  std::vector<double> run() {
    std::vector<double> score(count_);
    for (std::size_t i = 0; i < count_; ++i) score[i] = own(0, i);
    came_from_.resize(votes_.moments * count_);
    std::vector<double> next(count_);
    for (std::size_t m = 1; m < votes_.moments; ++m) {
      for (std::size_t i = 0; i < count_; ++i) next[i] = best_into(m, i, score) + own(m, i);
      score.swap(next);
    }
    return trace_back(score);
  }

 private:
  double own(std::size_t moment, std::size_t candidate) const {
    const auto place = static_cast<double>(candidate);
    if (within_ != nullptr && !within_->places[moment].contains(place)) return kNever;
    if (is_blocked(blocked_, moment, place)) return kNever;
    const double vote = votes_.vote(moment, candidate);
    const double gap = std::max(0.0, kFollowed * strongest_[moment] - vote);
    return kTrust * vote - gap - haste(votes_.rate(moment, candidate));
  }

  /// Engines seldom change their speed as fast as they can.
  static double haste(double rate) { return 6.0 * std::abs(rate); }

  double best_into(std::size_t moment, std::size_t candidate, const std::vector<double>& score) {
    static const auto chance = stray_chances();
    const double moved = votes_.rate(moment, candidate) * kVoteStep / votes_.grid.log_step;
    const auto origin = static_cast<int>(candidate) - static_cast<int>(std::lround(moved));
    double best = 2.0 * kNever;
    int from = std::clamp(origin, 0, static_cast<int>(count_) - 1);
    for (int d = -kStrayReach; d <= kStrayReach; ++d) {
      const int i = origin - d;
      if (i < 0 || i >= static_cast<int>(count_)) continue;
      const double sum = score[static_cast<std::size_t>(i)] + chance[at(d + kStrayReach)];
      if (sum <= best) continue;
      best = sum;
      from = i;
    }
    came_from_[moment * count_ + candidate] =
        static_cast<std::int16_t>(from - static_cast<int>(candidate));
    return best;
  }

  std::vector<double> trace_back(const std::vector<double>& score) const {
    auto at = static_cast<int>(std::max_element(score.begin(), score.end()) - score.begin());
    std::vector<double> places(votes_.moments);
    for (std::size_t m = votes_.moments; m-- > 0;) {
      places[m] = at;
      at += came_from_[m * count_ + static_cast<std::size_t>(at)];
    }
    return places;
  }

  const SpeedVotes& votes_;
  std::span<const SpeedCorridor> blocked_;
  const SpeedCorridor* within_;
  std::size_t count_;
  std::vector<double> strongest_;  ///< vote of each moment
  std::vector<std::int16_t> came_from_;
};

constexpr int kAside = 16;
using Offsets = std::array<double, 2 * kAside + 1>;

/// Chance of the votes of a moment for each offset from the path.
Offsets offsets_at(const SpeedVotes& votes, const SpeedPath& path, std::size_t moment) {
  Offsets chance{};
  double best = kNever;
  for (int d = -kAside; d <= kAside; ++d) {
    const auto place = std::lround(path.places[moment]) + d;
    const bool inside = place >= 0 && place < static_cast<long>(votes.grid.count);
    const double log_chance =
        inside ? kTrust * votes.vote(moment, static_cast<std::size_t>(place)) : kNever;
    chance[at(d + kAside)] = log_chance;
    best = std::max(best, log_chance);
  }
  for (double& c : chance) c = std::exp(c - best);
  return chance;
}

/// One step of the chain: the offset changes by less than a place, mostly.
Offsets spread(const Offsets& from) {
  constexpr int reach = 4;
  static const std::array<double, 2 * reach + 1> weight = [] {
    std::array<double, 2 * reach + 1> w{};
    for (int d = -reach; d <= reach; ++d) w[at(d + reach)] = std::exp(-0.5 * d * d / (0.8 * 0.8));
    return w;
  }();
  Offsets to{};
  double sum = 0.0;
  for (int i = 0; i <= 2 * kAside; ++i)
    for (int d = -reach; d <= reach; ++d) {
      const int j = i + d;
      if (j < 0 || j > 2 * kAside) continue;
      const double part = from[static_cast<std::size_t>(i)] * weight[at(d + reach)];
      to[static_cast<std::size_t>(j)] += part;
      sum += part;
    }
  for (double& t : to) t /= sum;
  return to;
}

Offsets product(const Offsets& a, const Offsets& b) {
  Offsets c{};
  for (std::size_t i = 0; i < c.size(); ++i) c[i] = a[i] * b[i] + 1e-300;
  return c;
}

}  // namespace

SpeedPath best_path(const SpeedVotes& votes, std::span<const SpeedCorridor> blocked,
                    const SpeedCorridor* within) {
  if (votes.moments == 0) return {};
  return {Trellis(votes, blocked, within).run(), {}};
}

SpeedCorridor around(const SpeedPath& path, double places) {
  SpeedCorridor corridor;
  for (const double p : path.places) corridor.places.push_back({p - places, p + places});
  return corridor;
}

SpeedPath refine_path(const SpeedVotes& votes, const SpeedPath& path) {
  const std::size_t moments = path.places.size();
  std::vector<Offsets> forward(moments);
  Offsets even;
  even.fill(1.0 / static_cast<double>(even.size()));
  Offsets message = even;
  for (std::size_t m = 0; m < moments; ++m) {
    forward[m] = product(message, offsets_at(votes, path, m));
    message = spread(forward[m]);
  }
  SpeedPath fine;
  fine.places.resize(moments);
  fine.sigma.resize(moments);
  message = even;
  for (std::size_t m = moments; m-- > 0;) {
    const Offsets posterior = product(forward[m], message);
    double sum = 0.0;
    double first = 0.0;
    double second = 0.0;
    for (int d = -kAside; d <= kAside; ++d) {
      const double p = posterior[at(d + kAside)];
      sum += p;
      first += p * d;
      second += p * d * d;
    }
    const double offset = first / sum;
    fine.places[m] = static_cast<double>(std::lround(path.places[m])) + offset;
    // A uniform spread over one place is what the grid hides.
    fine.sigma[m] = std::sqrt(std::max(0.0, second / sum - offset * offset) + 1.0 / 12.0);
    message = spread(product(message, offsets_at(votes, path, m)));
  }
  return fine;
}

bool may_have_leapt(const SpeedVotes& votes, const SpeedPath& path) {
  constexpr double room = 0.14;  // ln n, half the way from 1 to 4/3
  constexpr std::size_t run = 12;
  constexpr double heard = 1.5;
  const auto [low, high] = std::minmax_element(path.places.begin(), path.places.end());
  if (low == high || (*high - *low) * votes.grid.log_step < room) return false;
  const auto vote = [&](std::size_t m) {
    return votes.vote(m, static_cast<std::size_t>(path.places[m]));
  };
  double sum = 0.0;
  double weakest = heard;
  for (std::size_t m = 0; m < path.places.size(); ++m) {
    sum += vote(m);
    if (m >= run) sum -= vote(m - run);
    if (m + 1 >= run) weakest = std::min(weakest, sum / static_cast<double>(run));
  }
  return weakest < heard;
}

}  // namespace howl
