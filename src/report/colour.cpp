#include "src/report/colour.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace howl::picture {
namespace {

struct Triple {
  double x{};
  double y{};
  double z{};
};

constexpr Triple kWhiteD65{0.95047, 1.0, 1.08883};
constexpr double kKnee = 6.0 / 29.0;

double to_linear(double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); }

double from_linear(double v) {
  return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
}

double compress(double v) {
  return v > kKnee * kKnee * kKnee ? std::cbrt(v) : v / (3 * kKnee * kKnee) + 4.0 / 29.0;
}

double expand(double v) { return v > kKnee ? v * v * v : 3 * kKnee * kKnee * (v - 4.0 / 29.0); }

Triple linear_rgb(Lab lab) {
  const double fy = (lab.lightness + 16) / 116;
  const double x = kWhiteD65.x * expand(fy + lab.a / 500);
  const double y = kWhiteD65.y * expand(fy);
  const double z = kWhiteD65.z * expand(fy - lab.b / 200);
  return {3.2404542 * x - 1.5371385 * y - 0.4985314 * z,
          -0.9692660 * x + 1.8760108 * y + 0.0415560 * z,
          0.0556434 * x - 0.2040259 * y + 1.0572252 * z};
}

/// Chroma and hue of the scale at equal steps of level.
constexpr std::array<std::array<double, 2>, 5> kLevelNodes{
    {{5, 95}, {26, 168}, {28, 215}, {28, 258}, {22, 285}}};
constexpr double kQuietLightness = 97;
constexpr double kLoudLightness = 10;

/// Catmull and Rom 1974, between b and c.
double smooth_between(double a, double b, double c, double d, double t) {
  return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
}

}  // namespace

Lab to_lab(Colour colour) {
  const double r = to_linear(colour.red);
  const double g = to_linear(colour.green);
  const double b = to_linear(colour.blue);
  const double fx = compress((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / kWhiteD65.x);
  const double fy = compress((0.2126729 * r + 0.7151522 * g + 0.0721750 * b) / kWhiteD65.y);
  const double fz = compress((0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / kWhiteD65.z);
  return {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

Colour to_srgb(Lab lab) {
  const auto [r, g, b] = linear_rgb(lab);
  const auto channel = [](double v) { return from_linear(std::clamp(v, 0.0, 1.0)); };
  return {channel(r), channel(g), channel(b)};
}

bool in_gamut(Lab lab) {
  const auto [r, g, b] = linear_rgb(lab);
  return std::min({r, g, b}) >= 0 && std::max({r, g, b}) <= 1;
}

Lab lab_from_polar(double lightness, double chroma, double hue_degrees) {
  const double hue = hue_degrees * std::numbers::pi / 180;
  return {lightness, chroma * std::cos(hue), chroma * std::sin(hue)};
}

Lab level_lab(double fraction) {
  const double t = std::clamp(fraction, 0.0, 1.0);
  constexpr std::size_t last = kLevelNodes.size() - 1;
  const double along = t * static_cast<double>(last);
  const auto node = std::min(static_cast<std::size_t>(along), last - 1);
  const auto at = [](std::size_t i) {
    return lab_from_polar(0, kLevelNodes[i][0], kLevelNodes[i][1]);
  };
  const Lab before = at(node == 0 ? 0 : node - 1);
  const Lab from = at(node);
  const Lab to = at(node + 1);
  const Lab after = at(std::min(node + 2, last));
  const double u = along - static_cast<double>(node);
  return {kQuietLightness + t * (kLoudLightness - kQuietLightness),
          smooth_between(before.a, from.a, to.a, after.a, u),
          smooth_between(before.b, from.b, to.b, after.b, u)};
}

Colour level_colour(double fraction) { return to_srgb(level_lab(fraction)); }

}  // namespace howl::picture
