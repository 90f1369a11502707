#include "src/report/level_bar.h"

#include <cmath>

#include "src/report/frame.h"
#include "src/report/scale.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr double kUnknownRoom = 30;

void draw_colours(Canvas& canvas, const Box& box) {
  constexpr std::size_t steps = 256;
  Image image{1, steps, {}};
  for (std::size_t row = 0; row < steps; ++row) {
    image.pixels.push_back(pixel_of(level_colour(1 - static_cast<double>(row) / (steps - 1))));
  }
  canvas.image(box, image);
}

void draw_outline(Canvas& canvas, const Box& box) {
  const std::array outline{Point{box.x, box.y}, Point{box.right(), box.y},
                           Point{box.right(), box.bottom()}, Point{box.x, box.bottom()},
                           Point{box.x, box.y}};
  canvas.line(outline, {palette().rule, 0.8});
}

void draw_ticks(Canvas& canvas, const Box& box, const LevelBar& bar) {
  const Scale scale{bar.low_db, bar.high_db, false, box.bottom(), box.y};
  const auto height = [](const std::string&) { return kTextSize; };
  for (const Tick& tick : axis_ticks(scale, height, 6, 26)) {
    const double y = *scale.position(tick.value);
    canvas.line({box.right(), y}, {box.right() + 4, y}, {palette().rule, 1});
    canvas.text({box.right() + 8, y + 0.36 * kTextSize}, tick.label, {});
  }
}

}  // namespace

void draw_level_bar(Canvas& canvas, const LevelBar& bar) {
  Box colours = bar.box;
  if (bar.shows_unknown) {
    colours.height -= kUnknownRoom;
    const Box swatch{bar.box.x, bar.box.bottom() - 14, bar.box.width, 14};
    canvas.hatch(swatch);
    canvas.text({swatch.right() + 8, swatch.bottom() - 3}, "no data", {});
  }
  draw_colours(canvas, colours);
  draw_outline(canvas, colours);
  draw_ticks(canvas, colours, bar);
  const TextStyle style{.colour = palette().quiet, .align = Align::right};
  const double right = canvas.size().width - kMargin;
  const Measure measure = [&](std::string_view text) { return canvas.text_width(text, style); };
  canvas.text({right, bar.box.y - 11},
              elided(axis_title({"Level", bar.unit, 0, 0, false}), 0.45 * right, measure), style);
}

}  // namespace howl::picture
