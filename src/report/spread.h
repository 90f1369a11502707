#pragma once

#include <optional>
#include <span>
#include <vector>

namespace howl::picture {

/// Labels stacked along one line, each as near as may be to where it belongs.
struct SpreadParameters {
  double low{};  ///< labels stay within low … high
  double high{};
  double gap{};       ///< between neighbours
  double farthest{};  ///< a label that would stray farther is dropped
};
struct SpreadLabel {
  double wanted{};  ///< where its centre belongs
  double length{};  ///< along the line
};
/// Centres in the order of `labels`, the least sum of squared shifts that keeps them apart (pool
/// adjacent violators: Ayer et al. 1955); nothing for a label that was dropped, the last of a crowd
/// first, so give the most important first.
std::vector<std::optional<double>> spread(std::span<const SpreadLabel> labels,
                                          const SpreadParameters& parameters);

}  // namespace howl::picture
