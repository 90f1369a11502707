#include "ui/look/theme.h"

#include <algorithm>
#include <cmath>

#include "src/report/colour.h"

namespace howl::desk {
namespace {

using picture::Colour;
using picture::Lab;

constexpr double kCoolHue = 262;  // of the report's ink
constexpr double kTealHue = 185;

ImU32 packed(Colour colour) {
  const auto byte = [](double v) {
    return static_cast<ImU32>(std::lround(255.0 * std::clamp(v, 0.0, 1.0)));
  };
  return byte(colour.red) | byte(colour.green) << 8 | byte(colour.blue) << 16 | 0xFF000000U;
}

ImU32 polar(double lightness, double chroma, double hue) {
  return packed(picture::to_srgb(picture::lab_from_polar(lightness, chroma, hue)));
}

/// On a dark ground, series keep hue and chroma; the darker one is on paper, the lighter here.
ImU32 on_dark(Colour colour) {
  Lab lab = picture::to_lab(colour);
  lab.lightness = 62 + 0.26 * (100 - lab.lightness);
  return packed(picture::to_srgb(lab));
}

void set_series(Theme& theme) {
  for (std::size_t i = 0; i < theme.series.size(); ++i) {
    const Colour colour = picture::series_style(i).colour;
    theme.series.at(i) = theme.dark ? on_dark(colour) : packed(colour);
  }
}

void set_levels(Theme& theme) {
  for (std::size_t i = 0; i < theme.levels.size(); ++i) {
    const double loud = static_cast<double>(i) / 255.0;
    theme.levels.at(i) = packed(picture::level_colour(theme.dark ? 1.0 - loud : loud));
  }
}

Theme light_theme(bool strong) {
  Theme theme;
  theme.ground = polar(94.5, 2.5, 85);
  theme.card = polar(99.2, 0.8, 85);
  theme.raised = polar(91, 3, kCoolHue);
  theme.lit = polar(92.5, 13, 60);
  theme.rule = polar(strong ? 62 : 82, 3, kCoolHue);
  theme.grid = polar(strong ? 84 : 92, 2, kCoolHue);
  theme.ink = polar(strong ? 4 : 15, 8, kCoolHue);
  theme.quiet = polar(strong ? 24 : 42, 6, kCoolHue);
  theme.accent = packed(picture::palette().band);
  theme.on_accent = polar(99, 1, 85);
  theme.good = polar(44, 32, kTealHue);
  theme.warn = polar(48, 55, 72);
  theme.bad = polar(45, 62, 28);
  theme.shade = packed(picture::palette().shade);
  return theme;
}

Theme dark_theme(bool strong) {
  Theme theme;
  theme.dark = true;
  theme.ground = polar(strong ? 3 : 9.5, 5, kCoolHue);
  theme.card = polar(strong ? 8 : 14.5, 6.5, kCoolHue);
  theme.raised = polar(strong ? 20 : 22.5, 8, kCoolHue);
  theme.lit = polar(24, 20, 50);
  theme.rule = polar(strong ? 52 : 33, 7, kCoolHue);
  theme.grid = polar(strong ? 30 : 22, 6, kCoolHue);
  theme.ink = polar(strong ? 99 : 93.5, 2, 85);
  theme.quiet = polar(strong ? 84 : 70, 4, kCoolHue);
  theme.accent = polar(68, 58, 52);
  theme.on_accent = polar(10, 8, kCoolHue);
  theme.good = polar(72, 34, kTealHue);
  theme.warn = polar(79, 60, 80);
  theme.bad = polar(64, 58, 30);
  theme.shade = polar(26, 22, 50);
  return theme;
}

}  // namespace

Theme theme_of(bool dark, bool strong) {
  Theme theme = dark ? dark_theme(strong) : light_theme(strong);
  set_series(theme);
  set_levels(theme);
  return theme;
}

ImU32 faded(ImU32 colour, float opacity) {
  const auto alpha = static_cast<float>(colour >> 24 & 0xFFU);
  return (colour & 0x00FFFFFFU) | static_cast<ImU32>(std::lround(alpha * opacity)) << 24;
}

}  // namespace howl::desk
