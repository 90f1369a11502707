#include "src/report/spread.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>

namespace howl::picture {
namespace {

/// Neighbours that share one shift; `shift` is the mean of what its members want.
struct Pool {
  double sum{};
  std::size_t members{};
  double shift() const { return sum / static_cast<double>(members); }
};

/// Non-decreasing values nearest to `wanted` in least squares.
std::vector<double> isotonic(std::span<const double> wanted) {
  std::vector<Pool> pools;
  for (const double value : wanted) {
    pools.push_back({value, 1});
    while (pools.size() > 1 && pools[pools.size() - 2].shift() > pools.back().shift()) {
      pools[pools.size() - 2].sum += pools.back().sum;
      pools[pools.size() - 2].members += pools.back().members;
      pools.pop_back();
    }
  }
  std::vector<double> values;
  for (const Pool& pool : pools) values.insert(values.end(), pool.members, pool.shift());
  return values;
}

double room_needed(std::span<const SpreadLabel> labels, std::span<const std::size_t> order,
                   double gap) {
  double room = 0;
  for (const std::size_t i : order) room += labels[i].length + gap;
  return order.empty() ? 0 : room - gap;
}

/// Centres for `order`, which runs by wanted place and fits into the range.
std::vector<double> centres_of(std::span<const SpreadLabel> labels,
                               std::span<const std::size_t> order,
                               const SpreadParameters& parameters) {
  std::vector<double> offsets;
  std::vector<double> wanted;
  double offset = 0;
  for (const std::size_t i : order) {
    offsets.push_back(offset + labels[i].length / 2);
    wanted.push_back(labels[i].wanted - offsets.back());
    offset += labels[i].length + parameters.gap;
  }
  const double last = parameters.high - room_needed(labels, order, parameters.gap);
  std::vector<double> centres = isotonic(wanted);
  for (std::size_t k = 0; k < centres.size(); ++k) {
    centres[k] = std::clamp(centres[k], parameters.low, last) + offsets[k];
  }
  return centres;
}

/// The least important label (latest in `labels`) of the crowd around `worst`.
std::size_t least_of_crowd(std::span<const SpreadLabel> labels, std::span<const std::size_t> order,
                           std::span<const double> centres, std::size_t worst, double gap) {
  const auto touch = [&](std::size_t k) {
    const double room = (labels[order[k]].length + labels[order[k + 1]].length) / 2 + gap;
    return centres[k + 1] - centres[k] < room + 0.01;
  };
  std::size_t first = worst;
  std::size_t last = worst;
  while (first > 0 && touch(first - 1)) --first;
  while (last + 1 < order.size() && touch(last)) ++last;
  const auto least = std::max_element(order.begin() + static_cast<std::ptrdiff_t>(first),
                                      order.begin() + static_cast<std::ptrdiff_t>(last) + 1);
  return static_cast<std::size_t>(least - order.begin());
}

std::size_t farthest_of(std::span<const SpreadLabel> labels, std::span<const std::size_t> order,
                        std::span<const double> centres) {
  const auto shift = [&](std::size_t k) { return std::abs(centres[k] - labels[order[k]].wanted); };
  std::size_t worst = 0;
  for (std::size_t k = 1; k < order.size(); ++k) {
    if (shift(k) > shift(worst)) worst = k;
  }
  return worst;
}

void drop(std::vector<std::size_t>& order, std::size_t k) {
  order.erase(order.begin() + static_cast<std::ptrdiff_t>(k));
}

}  // namespace

std::vector<std::optional<double>> spread(std::span<const SpreadLabel> labels,
                                          const SpreadParameters& parameters) {
  std::vector<std::size_t> order(labels.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  while (room_needed(labels, order, parameters.gap) > parameters.high - parameters.low) {
    order.pop_back();
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return labels[a].wanted < labels[b].wanted;
  });
  std::vector<std::optional<double>> result(labels.size());
  while (!order.empty()) {
    const std::vector<double> centres = centres_of(labels, order, parameters);
    const std::size_t worst = farthest_of(labels, order, centres);
    if (std::abs(centres[worst] - labels[order[worst]].wanted) <= parameters.farthest) {
      for (std::size_t k = 0; k < order.size(); ++k) result[order[k]] = centres[k];
      break;
    }
    drop(order, least_of_crowd(labels, order, centres, worst, parameters.gap));
  }
  return result;
}

}  // namespace howl::picture
