#include "ui/panels/pitch_laws.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include "src/percent_text.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/spread.h"
#include "src/report/style.h"
#include "ui/look/widgets.h"
#include "ui/panels/parts.h"

namespace howl::desk {
namespace {

constexpr int kCurveSteps = 60;
constexpr float kSample = 24;  ///< of a line's look, before its name
constexpr float kLeader = 16;
constexpr float kLawRow = 41;

struct LineLook {
  ImU32 colour{};
  float thick{};
  std::vector<float> dash;
};

/// The heaviest is the first.
bool is_likeliest(const ToneResult& tone, const FittedLaw& law) {
  return &law == &tone.laws.front();
}

LineLook line_look(const Frame& frame, const ToneResult& tone, const FittedLaw& law, ImU32 colour) {
  // Pale and broad, so that those which lie on it are seen.
  if (is_likeliest(tone, law)) return {faded(colour, 0.6F), frame.u(4.5F), {}};
  LineLook look{faded(frame.theme().ink, 0.8F), frame.u(1.4F), {}};
  // The one that the report draws in one stroke: dots, which it has for what goes by the road.
  for (const double length : picture::law_dash(law.name == "locked" ? "road" : law.name))
    look.dash.push_back(frame.u(static_cast<float>(length)));
  return look;
}

std::vector<PlotPoint> law_curve(const FittedLaw& law, const Plot& plot) {
  std::vector<PlotPoint> points;
  for (int i = 0; i <= kCurveSteps; ++i) {
    const double n = plot.x.low + (plot.x.high - plot.x.low) * i / kCurveSteps;
    if (n > 0) points.push_back({n, law_pitch_hz(law, n)});
  }
  return points;
}

void put_law_band(const Plot& plot, const FittedLaw& law, ImU32 colour) {
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const ImDrawListFlags before = list.Flags;
  list.Flags &= ~ImDrawListFlags_AntiAliasedFill;  // no seams between the pieces
  std::optional<std::array<ImVec2, 2>> last;
  for (int i = 0; i <= kCurveSteps; ++i) {
    const double n = plot.x.low + (plot.x.high - plot.x.low) * i / kCurveSteps;
    if (n <= 0) continue;
    const Interval ci = law_pitch_ci95_hz(law, n);
    // Far outside of what is shown there is nothing to see.
    const auto kept = [&](double hz) {
      return std::clamp(hz, plot.y.low - 2 * plot.y.high, 3 * plot.y.high);
    };
    const std::array<ImVec2, 2> edge{plot.at(n, kept(ci.high)), plot.at(n, kept(ci.low))};
    if (last) {
      const std::array<ImVec2, 4> corners{(*last)[0], edge[0], edge[1], (*last)[1]};
      list.AddConvexPolyFilled(corners.data(), 4, colour);
    }
    last = edge;
  }
  list.Flags = before;
}

std::string short_name(const FittedLaw& law) {
  return fmt::format("{}  {}{}", short_law_words(law.name), percent_text(law.weight),
                     has_curve(law) ? "" : ", no line");
}

ImFont* name_font(const Frame& frame, const ToneResult& tone, const FittedLaw& law) {
  return is_likeliest(tone, law) ? frame.look.fonts.strong : frame.look.fonts.note;
}

void put_sample(Frame& frame, const LineLook& look, const Area& area) {
  // put_dashed() wants a plot: one unit is a pixel here.
  Plot plot{area, {0, 1, false, 0, 1}, {0, 1, false, 0, 1}};
  const auto y = static_cast<double>(area.y + area.h / 2);
  const std::array points{PlotPoint{static_cast<double>(area.x), y},
                          PlotPoint{static_cast<double>(area.right()), y}};
  if (look.dash.empty())
    hairline({area.x, area.y + area.h / 2}, {area.right(), area.y + area.h / 2}, look.colour,
             look.thick);
  else
    put_dashed(plot, points, look.colour, std::max(look.thick, frame.u(1.4F)), look.dash);
}

/// Where a curve leaves what is shown, going right; none where it is never seen.
std::optional<ImVec2> end_of(const FittedLaw& law, const Plot& plot) {
  std::optional<ImVec2> end;
  if (!has_curve(law)) return end;
  for (const PlotPoint& point : law_curve(law, plot))
    if (point.y >= plot.y.low && point.y <= plot.y.high) end = plot.at(point.x, point.y);
  return end;
}

void put_law_name(Frame& frame, const ToneResult& tone, const FittedLaw& law, Area row,
                  ImU32 colour) {
  frame.targets.insert_or_assign("words.law." + law.name, row);
  const Area sample = row.take_left(frame.u(kSample), frame.u(6));
  if (has_curve(law)) put_sample(frame, line_look(frame, tone, law, colour), sample);
  put_line(name_font(frame, tone, law), row, frame.theme().ink, short_name(law));
}

void put_law_row(Frame& frame, const ToneResult& tone, const FittedLaw& law, Area row) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const ImU32 colour = tone_colour(frame, tone.id);
  const bool first = is_likeliest(tone, law);
  Area head = row.take_top(line_height(fonts.body));
  const std::string chance = percent_text(law.weight);
  put_line(fonts.strong, head.take_right(text_width(fonts.strong, chance) + 1, frame.u(6)),
           theme.ink, chance, Side::right);
  const Area sample = head.take_left(frame.u(kSample), frame.u(8));
  if (has_curve(law)) put_sample(frame, line_look(frame, tone, law, colour), sample);
  put_line(first ? fonts.strong : fonts.body, head, theme.ink, law_words(law.name));
  Area foot = row.take_top(line_height(fonts.note));
  const std::string figures = typeset(law_figures(law));
  put_line(fonts.note, foot.take_right(text_width(fonts.note, figures) + 1, frame.u(10)),
           theme.quiet, figures, Side::right);
  foot.take_left(frame.u(kSample + 8));
  put_meter({foot.x, foot.y + foot.h / 2 - frame.u(2), foot.w, frame.u(4)},
            static_cast<float>(law.weight), first ? colour : theme.quiet, faded(theme.grid, 0.8F));
}

}  // namespace

bool has_curve(const FittedLaw& law) { return law.name != "road"; }

double law_pitch_hz(const FittedLaw& law, double rpm) {
  return law.frequency_at_reference_hz * std::pow(rpm / law.reference_rpm, law.exponent);
}

/// Level and exponent are independent at the reference, which is the middle of what was measured:
/// their errors add as squares, on a logarithmic scale.
Interval law_pitch_ci95_hz(const FittedLaw& law, double rpm) {
  const double middle = law.frequency_at_reference_hz;
  const Interval& ci = law.frequency_at_reference_ci95_hz;
  const double x = std::log(rpm / law.reference_rpm);
  double up = std::log(ci.high / middle);
  double down = std::log(middle / ci.low);
  if (law.exponent_ci95) {
    const double more = x * (law.exponent_ci95->high - law.exponent);
    const double less = x * (law.exponent - law.exponent_ci95->low);
    up = std::hypot(up, x > 0 ? more : less);
    down = std::hypot(down, x > 0 ? less : more);
  }
  const double hz = law_pitch_hz(law, rpm);
  return {hz * std::exp(-down), hz * std::exp(up)};
}

std::string law_figures(const FittedLaw& law) {
  const Interval& hz = law.frequency_at_reference_ci95_hz;
  if (!has_curve(law)) return "no line against engine speed";
  constexpr double none = 0.005;  // of a pitch that wanders, whatever the speed
  const bool goes_with_speed =
      law.exponent_ci95 && (law.exponent_ci95->low < -none || law.exponent_ci95->high > none);
  if (goes_with_speed)
    return fmt::format("exponent {:.2f} ({})", law.exponent, span_text(*law.exponent_ci95, 2));
  if (law.exponent == 1.0) {
    const double orders = 60 / law.reference_rpm;
    return fmt::format("order {:.3f} ({})", orders * law.frequency_at_reference_hz,
                       span_text({orders * hz.low, orders * hz.high}, 3));
  }
  const int decimals = hz.width() < 20 ? 1 : 0;
  return fmt::format("{:.{}f} Hz ({})", law.frequency_at_reference_hz, decimals,
                     span_text(hz, decimals));
}

void put_law_curves(Frame& frame, const Plot& plot, const ToneResult& tone, ImU32 colour) {
  for (const FittedLaw& law : tone.laws)
    if (has_curve(law))
      put_law_band(
          plot, law,
          is_likeliest(tone, law) ? faded(colour, 0.22F) : faded(frame.theme().quiet, 0.13F));
  // Those that lie on the likeliest are seen on it.
  for (const FittedLaw& law : tone.laws) {
    if (!has_curve(law)) continue;
    const LineLook look = line_look(frame, tone, law, colour);
    put_dashed(plot, law_curve(law, plot), look.colour, look.thick, look.dash);
  }
}

float law_names_width(const Frame& frame, const ToneResult& tone) {
  float widest = 0;
  for (const FittedLaw& law : tone.laws)
    widest = std::max(widest, text_width(name_font(frame, tone, law), short_name(law)));
  return tone.laws.empty() ? 0 : widest + frame.u(kLeader + kSample + 6 + 4);
}

void put_law_names(Frame& frame, const Plot& plot, const Area& area, const ToneResult& tone,
                   ImU32 colour) {
  const double height = static_cast<double>(line_height(frame.look.fonts.body));
  std::vector<picture::SpreadLabel> wanted;
  std::vector<std::optional<ImVec2>> ends;
  for (const FittedLaw& law : tone.laws) {
    ends.push_back(end_of(law, plot));
    wanted.push_back({static_cast<double>(ends.back() ? ends.back()->y : area.bottom()), height});
  }
  const auto places = picture::spread(wanted, {.low = static_cast<double>(area.y),
                                               .high = static_cast<double>(area.bottom()),
                                               .gap = 0,
                                               .farthest = static_cast<double>(2 * area.h)});
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (!places[i]) continue;
    const auto middle = static_cast<float>(*places[i]);
    const float from = area.x + frame.u(kLeader);
    if (ends[i]) {
      const ImU32 quiet = faded(frame.theme().quiet, 0.7F);
      const float side = std::min(area.x, plot.box.right());
      if (ends[i]->x < side - frame.u(2)) hairline(*ends[i], {side, ends[i]->y}, quiet, frame.u(1));
      hairline({side, ends[i]->y}, {from - frame.u(3), middle}, quiet, frame.u(1));
    }
    put_law_name(frame, tone, tone.laws[i],
                 {from, middle - static_cast<float>(height / 2), area.right() - from,
                  static_cast<float>(height)},
                 colour);
  }
}

float law_rows_height(const Frame& frame, const ToneResult& tone) {
  return static_cast<float>(tone.laws.size()) * frame.u(kLawRow);
}

void put_law_rows(Frame& frame, Area area, const ToneResult& tone) {
  const auto put_all = [&](Area& rows) {
    for (const FittedLaw& law : tone.laws)
      put_law_row(frame, tone, law, rows.take_top(frame.u(kLawRow)));
  };
  if (law_rows_height(frame, tone) <= area.h) return put_all(area);
  scrolled(frame, "laws", area, put_all);
}

}  // namespace howl::desk
