#include "dsp/speed_curve.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace howl {

namespace {

void require_rising(double before, double after) {
  if (!(after > before)) throw std::invalid_argument("speed curve: times must rise");
}

void require_speed(double value) {
  if (!(value > 0.0) || !std::isfinite(value))
    throw std::invalid_argument("speed curve: speed must be above 0 rpm");
}

/// Slope at the middle one of three points, of the parabola through them.
double parabola_slope(AnglePoint a, AnglePoint b, AnglePoint c) {
  const double left = (b.revolutions - a.revolutions) / (b.time - a.time).value;
  const double right = (c.revolutions - b.revolutions) / (c.time - b.time).value;
  const double share = (b.time - a.time) / (c.time - a.time);
  return left * (1.0 - share) + right * share;
}

}  // namespace

SpeedCurve::SpeedCurve(std::vector<Node> nodes, double relative_error)
    : nodes_(std::move(nodes)), relative_error_(relative_error) {}

SpeedCurve SpeedCurve::later(Seconds by) const {
  std::vector<Node> nodes = nodes_;
  for (Node& node : nodes) node.time += by.value;
  return {std::move(nodes), relative_error_};
}

SpeedCurve SpeedCurve::constant(Rpm speed, double relative_error) {
  require_speed(speed.value);
  return {{{0.0, 0.0, speed.value / 60.0}}, relative_error};
}

SpeedCurve SpeedCurve::through(std::span<const SpeedPoint> points, double relative_error) {
  if (points.empty()) throw std::invalid_argument("speed curve: no points");
  std::vector<Node> nodes;
  nodes.reserve(points.size());
  for (const SpeedPoint& p : points) {
    require_speed(p.speed.value);
    Node node{p.time.value, 0.0, p.speed.value / 60.0};
    if (!nodes.empty()) {
      const Node& last = nodes.back();
      require_rising(last.time, node.time);
      node.revolutions = last.revolutions + 0.5 * (last.rate + node.rate) * (node.time - last.time);
    }
    nodes.push_back(node);
  }
  return {std::move(nodes), relative_error};
}

SpeedCurve SpeedCurve::through_angles(std::span<const AnglePoint> points, double relative_error) {
  if (points.size() < 2) throw std::invalid_argument("speed curve: two pulses are needed");
  for (std::size_t i = 1; i < points.size(); ++i) {
    require_rising(points[i - 1].time.value, points[i].time.value);
    if (!(points[i].revolutions > points[i - 1].revolutions))
      throw std::invalid_argument("speed curve: the angle must rise");
  }
  const auto chord = [&](std::size_t i) {
    return (points[i + 1].revolutions - points[i].revolutions) /
           (points[i + 1].time - points[i].time).value;
  };
  const std::size_t last = points.size() - 1;
  std::vector<Node> nodes(points.size());
  for (std::size_t i = 0; i <= last; ++i)
    nodes[i] = {points[i].time.value, points[i].revolutions, 0.0};
  for (std::size_t i = 1; i < last; ++i)
    nodes[i].rate = std::min(parabola_slope(points[i - 1], points[i], points[i + 1]),
                             3.0 * std::min(chord(i - 1), chord(i)));
  // At the ends the same parabola is continued; never below a tenth of the chord's speed, nor above
  // three times it: beyond, the angle would run backwards (Fritsch and Carlson 1980).
  nodes[0].rate = last > 1
                      ? std::clamp(2.0 * chord(0) - nodes[1].rate, 0.1 * chord(0), 3.0 * chord(0))
                      : chord(0);
  nodes[last].rate = last > 1 ? std::clamp(2.0 * chord(last - 1) - nodes[last - 1].rate,
                                           0.1 * chord(last - 1), 3.0 * chord(last - 1))
                              : chord(0);
  return {std::move(nodes), relative_error};
}

std::size_t SpeedCurve::segment_of_time(double time) const {
  const auto after = std::upper_bound(nodes_.begin(), nodes_.end(), time,
                                      [](double t, const Node& n) { return t < n.time; });
  return static_cast<std::size_t>(after - nodes_.begin()) - 1;
}

namespace {

/// Cubic Hermite on a segment of length h at fraction s: value and slope.
struct Hermite {
  double p0, m0, p1, m1, h;

  double value(double s) const {
    const double s2 = s * s;
    const double s3 = s2 * s;
    return (2 * s3 - 3 * s2 + 1) * p0 + (s3 - 2 * s2 + s) * h * m0 + (3 * s2 - 2 * s3) * p1 +
           (s3 - s2) * h * m1;
  }
  double slope(double s) const {
    const double s2 = s * s;
    return (6 * s2 - 6 * s) * (p0 - p1) / h + (3 * s2 - 4 * s + 1) * m0 + (3 * s2 - 2 * s) * m1;
  }
};

}  // namespace

Rpm SpeedCurve::at(Seconds time) const {
  const double t = time.value;
  if (t <= nodes_.front().time) return Rpm(60.0 * nodes_.front().rate);
  if (t >= nodes_.back().time) return Rpm(60.0 * nodes_.back().rate);
  const std::size_t i = segment_of_time(t);
  const Node& a = nodes_[i];
  const Node& b = nodes_[i + 1];
  const double h = b.time - a.time;
  return Rpm(60.0 *
             Hermite{a.revolutions, a.rate, b.revolutions, b.rate, h}.slope((t - a.time) / h));
}

double SpeedCurve::revolutions_at(Seconds time) const {
  const double t = time.value;
  const Node& first = nodes_.front();
  const Node& last = nodes_.back();
  if (t <= first.time) return first.revolutions + (t - first.time) * first.rate;
  if (t >= last.time) return last.revolutions + (t - last.time) * last.rate;
  const std::size_t i = segment_of_time(t);
  const Node& a = nodes_[i];
  const Node& b = nodes_[i + 1];
  const double h = b.time - a.time;
  return Hermite{a.revolutions, a.rate, b.revolutions, b.rate, h}.value((t - a.time) / h);
}

Seconds SpeedCurve::time_at(double revolutions) const {
  const Node& first = nodes_.front();
  const Node& last = nodes_.back();
  if (revolutions <= first.revolutions)
    return Seconds(first.time + (revolutions - first.revolutions) / first.rate);
  if (revolutions >= last.revolutions)
    return Seconds(last.time + (revolutions - last.revolutions) / last.rate);
  const auto after = std::upper_bound(nodes_.begin(), nodes_.end(), revolutions,
                                      [](double r, const Node& n) { return r < n.revolutions; });
  const Node& b = *after;
  const Node& a = *(after - 1);
  const double h = b.time - a.time;
  // Counted from the segment's begin, so that rounding does not grow with the length of the take.
  const double turned = revolutions - a.revolutions;
  const double turned_in_all = b.revolutions - a.revolutions;
  const Hermite angle{0.0, a.rate, turned_in_all, b.rate, h};
  double low = 0.0;
  double high = 1.0;
  double s = turned / turned_in_all;
  for (int i = 0; i < 60; ++i) {
    const double error = angle.value(s) - turned;
    (error > 0.0 ? high : low) = s;
    const double slope = angle.slope(s) * h;
    const double newton = slope > 0.0 ? s - error / slope : 0.5 * (low + high);
    const double next = newton > low && newton < high ? newton : 0.5 * (low + high);
    const double step = std::abs(next - s);
    s = next;
    if (step < 1e-9) break;  // Newton's next step would be of its square
  }
  return Seconds(a.time + s * h);
}

SpeedCurve::Range SpeedCurve::range(Seconds from, Seconds to) const {
  Range range{at(from), at(from)};
  const auto include = [&](Rpm n) {
    range.low = std::min(range.low, n);
    range.high = std::max(range.high, n);
  };
  include(at(to));
  for (const Node& node : nodes_)
    if (node.time > from.value && node.time < to.value) include(Rpm(60.0 * node.rate));
  return range;
}

}  // namespace howl
