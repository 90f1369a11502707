#pragma once

#include <optional>
#include <span>
#include <vector>

namespace howl::picture {

/// All lengths are layout units: a picture is 800 wide, and one unit is two PNG pixels, one SVG
/// user unit and one PDF point. y grows downwards.
struct Point {
  double x{};
  double y{};
};

struct Size {
  double width{};
  double height{};
};

struct Box {
  double x{};
  double y{};
  double width{};
  double height{};

  constexpr double right() const { return x + width; }
  constexpr double bottom() const { return y + height; }
  constexpr Point centre() const { return {x + width / 2, y + height / 2}; }
  constexpr bool contains(Point p) const {
    return x <= p.x && p.x <= right() && y <= p.y && p.y <= bottom();
  }
  constexpr bool contains(const Box& other) const {
    return x <= other.x && other.right() <= right() && y <= other.y && other.bottom() <= bottom();
  }
  /// Boxes that merely touch do not overlap.
  constexpr bool overlaps(const Box& other) const {
    return x < other.right() && other.x < right() && y < other.bottom() && other.y < bottom();
  }
  constexpr Box grown(double by) const { return {x - by, y - by, width + 2 * by, height + 2 * by}; }
};

struct Segment {
  Point from;
  Point to;
};

/// Whether the segments cross; those that merely touch do not.
bool cross_each_other(const Segment& s, const Segment& t);

/// The part of `segment` inside `box`, or nothing (Liang and Barsky 1984). Coordinates must be
/// finite.
std::optional<Segment> clipped(const Segment& segment, const Box& box);

struct Disc {
  Point centre;
  double radius{};
};

/// The segment as a line of corners that bows around every disc it would touch on its way, on the
/// side on which it passes the centre; a disc that holds one of its ends is not avoided. The bows
/// of discs close to each other are not checked against their neighbours.
std::vector<Point> around(const Segment& segment, std::span<const Disc> discs);

}  // namespace howl::picture
