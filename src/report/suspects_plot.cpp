#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>
#include <string>

#include "src/percent_text.h"
#include "src/report/frame.h"
#include "src/report/number_text.h"
#include "src/report/plots.h"
#include "src/report/scale.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr std::size_t kMostSuspects = 6;
constexpr std::size_t kMostContradictions = 4;
constexpr std::size_t kMostItems = 6;
constexpr double kNameWidth = 290;
constexpr double kBarLeft = kMargin + kNameWidth + 20;
constexpr double kBarRight = kPageSize.width - kMargin - 56;
constexpr double kBarHeight = 15;
constexpr double kWordsLeft = kMargin + 14;
constexpr double kWordsRight = 436;
constexpr double kScaleLeft = 456;
constexpr double kScaleRight = kBarRight;
constexpr double kZero = (kScaleLeft + kScaleRight) / 2;
constexpr double kLeastScaleDb = 10;

std::span<const SuspectBar> shown_suspects(const SuspectsPicture& picture) {
  return std::span(picture.suspects).first(std::min(picture.suspects.size(), kMostSuspects));
}

std::span<const SuspectBar::Item> shown_items(const SuspectBar& suspect) {
  return std::span(suspect.evidence).first(std::min(suspect.evidence.size(), kMostItems));
}

/// What half the width of the scale stands for; one scale for all suspects.
double scale_db(const SuspectsPicture& picture) {
  double most = kLeastScaleDb;
  for (const SuspectBar& suspect : shown_suspects(picture))
    for (const SuspectBar::Item& item : shown_items(suspect))
      if (std::isfinite(item.weight_db)) most = std::max(most, std::abs(item.weight_db));
  return most;
}

double draw_lines(Canvas& canvas, const std::string& text, double y, double width,
                  const TextStyle& style, double x = kMargin) {
  const auto measure = [&](std::string_view t) { return canvas.text_width(t, style); };
  for (const std::string& line : wrapped(text, width, 4, measure)) {
    canvas.text({x, y + 12}, line, style);
    y += kLineHeight;
  }
  return y;
}

double draw_contradictions(Canvas& canvas, const SuspectsPicture& picture, double y) {
  if (picture.contradictions.empty()) return y;
  const double width = kPageSize.width - 2 * kMargin;
  y = draw_lines(canvas, "This does not fit together", y, width,
                 {.colour = palette().band, .bold = true});
  for (std::size_t i = 0; i < std::min(kMostContradictions, picture.contradictions.size()); ++i)
    y = draw_lines(canvas, picture.contradictions[i], y, width, {}) + 3;
  return y + 8;
}

double draw_probability(Canvas& canvas, const SuspectBar& suspect, double y, bool first) {
  const TextStyle style{.size = kSubtitleSize, .bold = true};
  const double share =
      std::isfinite(suspect.probability) ? std::clamp(suspect.probability, 0.0, 1.0) : 0.0;
  const double width = kBarRight - kBarLeft;
  canvas.fill(Box{kBarLeft, y, width, kBarHeight}, palette().grid, 0.55);
  canvas.fill(Box{kBarLeft, y, share * width, kBarHeight},
              first ? palette().band : series_style(0).colour);
  canvas.text({kPageSize.width - kMargin, y + 12}, percent_text(suspect.probability),
              {.size = kSubtitleSize, .bold = true, .align = Align::right});
  return std::max(draw_lines(canvas, suspect.name, y, kNameWidth, style), y + kBarHeight);
}

double draw_item(Canvas& canvas, const SuspectBar::Item& item, double y, double scale) {
  const double weight = std::isfinite(item.weight_db) ? item.weight_db : 0;
  const double length = std::min(1.0, std::abs(weight) / scale) * (kScaleRight - kZero);
  const double below = draw_lines(canvas, item.words, y, kWordsRight - kWordsLeft, {}, kWordsLeft);
  const double middle = (y + below) / 2;
  const bool speaks_for = weight > 0;
  canvas.fill(Box{speaks_for ? kZero : kZero - length, middle - 5, length, 10},
              speaks_for ? series_style(0).colour : series_style(1).colour);
  canvas.text({kPageSize.width - kMargin, middle + 0.36 * kTextSize},
              (weight > 0 ? "+" : "") + format_number(weight, 0) + "\u00A0dB",
              {.align = Align::right});
  return below + 5;
}

double draw_evidence(Canvas& canvas, const SuspectBar& suspect, double y, double scale) {
  if (suspect.evidence.empty()) return y;
  const TextStyle quiet{.size = kNoteSize, .colour = palette().quiet};
  TextStyle right = quiet;
  right.align = Align::right;
  canvas.text({kZero - 8, y + 13}, "speaks against", right);
  canvas.text({kZero + 8, y + 13}, "speaks for", quiet);
  const double top = y + 18;
  y = top + 3;
  for (const SuspectBar::Item& item : shown_items(suspect)) y = draw_item(canvas, item, y, scale);
  canvas.line({kZero, top}, {kZero, y}, {palette().ink, 0.9});
  return y;
}

double draw_all(Canvas& canvas, const SuspectsPicture& picture) {
  double y = draw_heading(canvas, picture.title, picture.subtitle) + 8;
  y = draw_contradictions(canvas, picture, y);
  const double scale = scale_db(picture);
  for (const SuspectBar& suspect : shown_suspects(picture)) {
    canvas.line({kMargin, y}, {kPageSize.width - kMargin, y}, {palette().grid, 0.8});
    y = draw_probability(canvas, suspect, y + 10, &suspect == &picture.suspects.front());
    y = draw_evidence(canvas, suspect, y + 2, scale) + 9;
  }
  const std::size_t left_out = picture.suspects.size() - shown_suspects(picture).size();
  std::string note =
      "Weights of what speaks for and against; 10 dB: ten times likelier, −10 dB: ten times less "
      "so.";
  if (left_out > 0) note += fmt::format(" Suspects not shown: {}.", left_out);
  return draw_lines(canvas, note, y + 4, kPageSize.width - 2 * kMargin,
                    {.size = kNoteSize, .colour = palette().quiet});
}

}  // namespace

Size page_size(const SuspectsPicture& picture) {
  if (picture.suspects.empty()) return {kPageSize.width, 240};
  Canvas ruler(PictureFormat::png, {kPageSize.width, 1}, {});
  return {kPageSize.width, std::ceil(std::max(240.0, draw_all(ruler, picture) + 14))};
}

void draw_on(Canvas& canvas, const SuspectsPicture& picture) {
  if (!picture.suspects.empty()) {
    draw_all(canvas, picture);
    return;
  }
  draw_nothing_to_show(canvas, draw_heading(canvas, picture.title, picture.subtitle),
                       picture.why_none);
}

}  // namespace howl::picture
