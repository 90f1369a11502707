#include "src/report/callouts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <utility>

namespace howl::picture {
namespace {

/// Labels that all lean to one side of their points stand like flags on poles, which packs a crowd
/// of points best.
enum class Lean { any, right, left };

std::span<const double> slides(Lean lean) {
  static constexpr std::array<double, 9> any{0, 0.25, -0.25, 0.48, -0.48, 0.9, -0.9, 1.4, -1.4};
  static constexpr std::array<double, 1> right{0.48};
  static constexpr std::array<double, 1> left{-0.48};
  switch (lean) {
    case Lean::right:
      return right;
    case Lean::left:
      return left;
    case Lean::any:
      break;
  }
  return any;
}

/// Where the middle of a label may stand, seen from its point: above, or beside.
std::vector<Point> candidate_offsets(Size size, Lean lean) {
  std::vector<Point> offsets;
  for (int rise = 16; rise < 260; rise += 4) {
    for (const double slide : slides(lean)) {
      offsets.push_back({slide * size.width, -static_cast<double>(rise)});
    }
  }
  if (lean != Lean::any) return offsets;
  for (const double side : {1.0, -1.0}) {
    for (const double drop : {0.0, 14.0, 28.0}) {
      offsets.push_back({side * (size.width / 2 + 14), drop});
    }
  }
  return offsets;
}

PlacedCallout placed_at(const Callout& callout, Point offset) {
  const Point middle{callout.at.x + offset.x, callout.at.y + offset.y};
  const Box box{middle.x - callout.size.width / 2, middle.y - callout.size.height / 2,
                callout.size.width, callout.size.height};
  const Point end{std::clamp(callout.at.x, box.x, box.right()),
                  std::clamp(callout.at.y, box.y, box.bottom())};
  return {box, {callout.at, end}, false};
}

struct Arrangement {
  std::vector<std::optional<PlacedCallout>> places;
  std::size_t dropped{};
  double cost{};

  bool better_than(const Arrangement& other) const {
    return dropped != other.dropped ? dropped < other.dropped : cost < other.cost;
  }
};

class Placing {
 public:
  Placing(std::span<const Callout> callouts, const Box& area, std::span<const Box> obstacles,
          std::span<const Segment> curves)
      : callouts_(callouts), area_(area), obstacles_(obstacles), curves_(curves) {}

  /// One after the other, each as well as those before it allow.
  Arrangement arranged(std::span<const std::size_t> order, Lean lean) const {
    Arrangement result{std::vector<std::optional<PlacedCallout>>(callouts_.size()), 0, 0};
    std::vector<PlacedCallout> placed;
    for (const std::size_t i : order) {
      const std::optional<Choice> choice = best(callouts_[i], lean, placed);
      if (choice) {
        placed.push_back(choice->place);
        result.places[i] = choice->place;
        result.cost += choice->cost;
      } else {
        ++result.dropped;
      }
    }
    return result;
  }

 private:
  struct Choice {
    PlacedCallout place;
    double cost{};
  };

  std::optional<Choice> best(const Callout& callout, Lean lean,
                             std::span<const PlacedCallout> placed) const {
    std::optional<Choice> choice;
    for (const Point& offset : candidate_offsets(callout.size, lean)) {
      PlacedCallout candidate = placed_at(callout, offset);
      if (!is_free(candidate, placed) || hides_a_point(candidate, callout)) continue;
      candidate.on_curve = covers_a_curve(candidate.box);
      const double cost = (candidate.on_curve ? 100 : 0) + 20 * crossings(candidate.leader) +
                          0.1 * std::hypot(offset.x, offset.y);
      if (!choice || cost < choice->cost) choice = Choice{candidate, cost};
    }
    return choice;
  }

  bool is_free(const PlacedCallout& candidate, std::span<const PlacedCallout> placed) const {
    if (!area_.contains(candidate.box)) return false;
    const auto in_the_way = [&](const Box& box) {
      return box.overlaps(candidate.box) || clipped(candidate.leader, box);
    };
    if (std::any_of(obstacles_.begin(), obstacles_.end(), in_the_way)) return false;
    return std::none_of(placed.begin(), placed.end(), [&](const PlacedCallout& other) {
      return in_the_way(other.box.grown(1)) || clipped(other.leader, candidate.box.grown(1)) ||
             cross_each_other(other.leader, candidate.leader);
    });
  }

  bool hides_a_point(const PlacedCallout& candidate, const Callout& own) const {
    return std::any_of(callouts_.begin(), callouts_.end(), [&](const Callout& other) {
      const Box point{other.at.x - 5, other.at.y - 5, 10, 10};
      const bool is_own = other.at.x == own.at.x && other.at.y == own.at.y;
      return candidate.box.overlaps(point) || (!is_own && clipped(candidate.leader, point));
    });
  }

  bool covers_a_curve(const Box& box) const {
    return std::any_of(curves_.begin(), curves_.end(),
                       [&](const Segment& segment) { return clipped(segment, box).has_value(); });
  }

  double crossings(const Segment& leader) const {
    return static_cast<double>(
        std::count_if(curves_.begin(), curves_.end(),
                      [&](const Segment& segment) { return cross_each_other(segment, leader); }));
  }

  std::span<const Callout> callouts_;
  Box area_;
  std::span<const Box> obstacles_;
  std::span<const Segment> curves_;
};

}  // namespace

std::vector<std::optional<PlacedCallout>> place_callouts(std::span<const Callout> callouts,
                                                         const Box& area,
                                                         std::span<const Box> obstacles,
                                                         std::span<const Segment> curves) {
  const Placing placing(callouts, area, obstacles, curves);
  std::vector<std::size_t> order(callouts.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  Arrangement best = placing.arranged(order, Lean::any);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return callouts[a].at.x < callouts[b].at.x;
  });
  for (const Lean along : {Lean::left, Lean::right}) {
    for (const Lean lean : {Lean::any, along}) {
      Arrangement other = placing.arranged(order, lean);
      if (other.better_than(best)) best = std::move(other);
    }
    std::reverse(order.begin(), order.end());
  }
  return std::move(best.places);
}

}  // namespace howl::picture
