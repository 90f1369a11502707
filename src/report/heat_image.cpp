#include "src/report/heat_image.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>

namespace howl::picture {
namespace {

constexpr double kPixelsPerUnit = 2;
constexpr double kCoarsePixels = 12;  ///< cells from this size on keep their edges
constexpr float kUnknown = std::numeric_limits<float>::quiet_NaN();

/// The part of a line of cells that one pixel covers, counted in cells; cell k is centred on k.
struct Reach {
  double from{};
  double to{};
};

/// For each pixel from the axis's low end to its high end.
std::vector<Reach> reaches(const Scale& scale, const PlotAxis& axis, std::size_t cells,
                           std::size_t pixels) {
  const double step = (scale.to - scale.from) / static_cast<double>(pixels);
  const auto cell_at = [&](std::size_t edge) {
    const double value = scale.value_at(scale.from + step * static_cast<double>(edge));
    return (value - axis.low) / (axis.high - axis.low) * static_cast<double>(cells - 1);
  };
  std::vector<Reach> result;
  result.reserve(pixels);
  for (std::size_t i = 0; i < pixels; ++i) result.push_back({cell_at(i), cell_at(i + 1)});
  return result;
}

std::size_t nearest_cell(double at, std::size_t cells) {
  return static_cast<std::size_t>(
      std::clamp(std::floor(at + 0.5), 0.0, static_cast<double>(cells - 1)));
}

/// Ignores what is not known unless nothing is.
float loudest(std::span<const float> levels) {
  float most = kUnknown;
  for (const float level : levels) {
    if (!(level <= most)) most = std::isnan(level) ? most : level;
  }
  return most;
}

float between_cells(std::span<const float> levels, double at) {
  const double low = std::clamp(std::floor(at), 0.0, static_cast<double>(levels.size() - 1));
  const auto cell = static_cast<std::size_t>(low);
  const float from = levels[cell];
  const float to = levels[std::min(cell + 1, levels.size() - 1)];
  if (std::isnan(from) || std::isnan(to)) return levels[nearest_cell(at, levels.size())];
  return from + (to - from) * static_cast<float>(std::clamp(at - low, 0.0, 1.0));
}

float level_over(std::span<const float> levels, const Reach& reach) {
  const double middle = (reach.from + reach.to) / 2;
  const double size = reach.to - reach.from;
  if (size * kCoarsePixels <= 1) return levels[nearest_cell(middle, levels.size())];
  if (size < 1) return between_cells(levels, middle);
  const std::size_t first = nearest_cell(reach.from, levels.size());
  const std::size_t last = nearest_cell(reach.to, levels.size());
  return loudest(levels.subspan(first, last - first + 1));
}

/// Levels as fractions of the colour scale, column-major as in the map.
std::vector<float> fractions_of(const Heatmap& map, double low, double high) {
  std::vector<float> fractions;
  fractions.reserve(map.level_db.size());
  for (const float level : map.level_db) {
    const double fraction = (static_cast<double>(level) - low) / (high - low);
    fractions.push_back(std::isnan(level) ? kUnknown
                                          : static_cast<float>(std::clamp(fraction, 0.0, 1.0)));
  }
  return fractions;
}

/// Fits every line of `length` values to `reaches`; lines lie one after the other, and come out
/// crosswise: value i of line k at i·lines + k.
std::vector<float> fitted_and_turned(std::span<const float> values, std::size_t length,
                                     std::span<const Reach> reaches) {
  const std::size_t lines = values.size() / length;
  std::vector<float> out(reaches.size() * lines);
  for (std::size_t line = 0; line < lines; ++line) {
    const std::span<const float> levels = values.subspan(line * length, length);
    for (std::size_t i = 0; i < reaches.size(); ++i) {
      out[i * lines + line] = level_over(levels, reaches[i]);
    }
  }
  return out;
}

using Scale256 = std::array<std::uint32_t, 256>;

const Scale256& level_pixels() {
  static const Scale256 pixels = [] {
    Scale256 made{};
    for (std::size_t i = 0; i < made.size(); ++i) {
      made.at(i) = pixel_of(level_colour(static_cast<double>(i) / 255));
    }
    return made;
  }();
  return pixels;
}

std::size_t pixels_along(double length) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(length * kPixelsPerUnit)));
}

}  // namespace

Image heat_image(const Heatmap& map, const Panel& panel, const PlotAxis& x, const PlotAxis& y,
                 double level_low_db, double level_high_db) {
  Image image{pixels_along(panel.box.width), pixels_along(panel.box.height), {}};
  const std::vector<float> fractions = fractions_of(map, level_low_db, level_high_db);
  const std::vector<float> rows_fitted =
      fitted_and_turned(fractions, map.rows, reaches(panel.y, y, map.rows, image.height));
  const std::vector<float> fitted =
      fitted_and_turned(rows_fitted, map.columns, reaches(panel.x, x, map.columns, image.width));

  image.pixels.resize(image.width * image.height);
  for (std::size_t column = 0; column < image.width; ++column) {
    for (std::size_t up = 0; up < image.height; ++up) {
      const float fraction = fitted[column * image.height + up];
      const std::size_t row = image.height - 1 - up;
      if (std::isnan(fraction)) continue;
      image.pixels[row * image.width + column] =
          level_pixels()[static_cast<std::size_t>(std::lround(fraction * 255))];
    }
  }
  return image;
}

}  // namespace howl::picture
