#include "ui/panels/tone_lines.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include "src/report/spread.h"
#include "ui/look/shapes.h"
#include "ui/look/text.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr int kLineSteps = 160;
constexpr std::size_t kMostLines = 6;

struct NamedLine {
  std::vector<PlotPoint> points;
  std::string name;
  bool lit{};
  std::string tone{};  ///< its id
};

/// An order's line over what is shown: level in an order map, along the speed in a spectrogram; not
/// where the speed is not known.
std::vector<PlotPoint> order_line(const TakeSound& sound, const Interval& time, double order,
                                  bool as_order) {
  std::vector<PlotPoint> points;
  for (int i = 0; i <= kLineSteps; ++i) {
    const double t = time.low + time.width() * i / kLineSteps;
    if (const auto rpm = rpm_at(sound, t))
      points.push_back({t, as_order ? order : order * *rpm / 60.0});
  }
  return points;
}

std::vector<PlotPoint> tone_line(const TakeSound& sound, const Interval& time,
                                 const ToneResult& tone, bool as_order) {
  if (tone.order && !sound.engine_off) return order_line(sound, time, *tone.order, as_order);
  std::vector<PlotPoint> points;
  for (const TrackPoint& point : tone.track)
    if (point.take == sound.id)
      points.push_back(
          {point.time_s, as_order ? 60 * point.frequency_hz / point.rpm : point.frequency_hz});
  std::ranges::sort(points, {}, &PlotPoint::x);
  if (points.size() == 1) points = {{0, points[0].y}, {sound.seconds, points[0].y}};
  return points;
}

std::vector<NamedLine> lines_of(const Frame& frame, const Plot& plot, const TakeSound& sound,
                                bool as_order) {
  std::vector<NamedLine> lines;
  std::size_t unlit = 0;
  for (const ToneResult& tone : frame.state.analysis()->tones) {
    const bool lit = is_lit_tone(frame, tone.id);
    if (!is_of_take(tone, sound.id) || (!lit && (tone.combustion || ++unlit > kMostLines)))
      continue;
    auto points = tone_line(sound, {plot.x.low, plot.x.high}, tone, as_order);
    if (!points.empty()) lines.push_back({std::move(points), tone_words(tone), lit, tone.id});
  }
  // The picked one last, on top; its name is the first to have room.
  std::stable_partition(lines.begin(), lines.end(),
                        [](const NamedLine& line) { return !line.lit; });
  return lines;
}

/// Dashes that leave the tone itself to be seen, on a dark rim that stands off any level.
void put_line_over(Frame& frame, const Plot& plot, const NamedLine& line, ImU32 colour) {
  const std::array dash{frame.u(line.lit ? 9.0F : 3.0F), frame.u(7.0F)};
  const float thick = frame.u(line.lit ? 2.2F : 1.3F);
  put_dashed(plot, line.points, faded(frame.theme().card, 0.6F), thick + frame.u(1.6F), dash);
  put_dashed(plot, line.points, colour, thick, dash);
}

/// Where a line is when its name's leader meets it: at `x`, or where it ends before that.
ImVec2 met_at(const NamedLine& line, const Plot& plot, float x) {
  ImVec2 met = plot.at(line.points.front().x, line.points.front().y);
  for (const PlotPoint& point : line.points) {
    const ImVec2 next = plot.at(point.x, point.y);
    if (next.x > x) {
      if (next.x > met.x && met.x < x)
        met = {x, met.y + (next.y - met.y) * (x - met.x) / (next.x - met.x)};
      break;
    }
    met = next;
  }
  return met;
}

/// One below the other at the right edge, each with a leader to its line. Returns how much of the
/// edge they take.
float put_names(Frame& frame, const Plot& plot, const std::vector<NamedLine>& lines) {
  const double height = static_cast<double>(frame.u(21));
  float widest = 0;
  for (const NamedLine& line : lines)
    widest = std::max(widest, text_width(frame.look.fonts.label, line.name) + frame.u(12));
  const float left = plot.box.right() - widest;
  const float leader = frame.u(22);
  std::vector<picture::SpreadLabel> wanted;
  std::vector<const NamedLine*> named;
  std::vector<ImVec2> ends;
  for (auto line = lines.rbegin(); line != lines.rend(); ++line) {
    const ImVec2 end = met_at(*line, plot, left - leader);
    if (!(end.y >= plot.box.y && end.y <= plot.box.bottom())) continue;
    wanted.push_back({static_cast<double>(end.y), height});
    named.push_back(&*line);
    ends.push_back(end);
  }
  const auto places = picture::spread(wanted, {.low = static_cast<double>(plot.box.y),
                                               .high = static_cast<double>(plot.box.bottom()),
                                               .gap = static_cast<double>(frame.u(2)),
                                               .farthest = static_cast<double>(frame.u(90))});
  bool any = false;
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (!places[i]) continue;
    any = true;
    const auto middle = static_cast<float>(*places[i]);
    const ImU32 colour = named[i]->lit ? frame.theme().accent : frame.theme().ink;
    hairline(ends[i], {left, middle}, faded(frame.theme().card, 0.75F), frame.u(3.2F));
    hairline(ends[i], {left, middle}, colour, frame.u(1.2F));
    ImGui::GetWindowDrawList()->AddCircleFilled(ends[i], frame.u(2.6F), colour);
    put_tag(frame, plot.box, {left, middle + static_cast<float>(height / 2)}, named[i]->name,
            colour);
    frame.targets.insert_or_assign(
        "words.line." + named[i]->tone,
        Area{left, middle - static_cast<float>(height / 2), widest, static_cast<float>(height)});
    frame.targets.insert_or_assign("words.met." + named[i]->tone, Area{ends[i].x, ends[i].y, 1, 1});
  }
  return any ? widest + leader : 0;
}

}  // namespace

float put_tone_lines(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order) {
  if (frame.state.analysis() == nullptr || is_answer_hidden(frame.state)) return 0;
  const std::vector<NamedLine> lines = lines_of(frame, plot, sound, as_order);
  for (const NamedLine& line : lines)
    put_line_over(frame, plot, line,
                  line.lit ? frame.theme().accent : faded(frame.theme().ink, 0.75F));
  return put_names(frame, plot, lines);
}

void put_suspect_band(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order) {
  const Analysis* const analysis = frame.state.analysis();
  if (analysis == nullptr || !analysis->suspect_band || sound.engine_off ||
      is_answer_hidden(frame.state))
    return;
  const AnalysisRequest::Band& band = analysis->suspect_band->band;
  const bool in_orders = band.unit == AnalysisRequest::Band::Unit::order;
  const Interval time{plot.x.low, plot.x.high};
  for (const double edge : {band.range.low, band.range.high}) {
    std::vector<PlotPoint> line;
    if (in_orders)
      line = order_line(sound, time, edge, as_order);
    else if (!as_order)
      line = {{time.low, edge}, {time.high, edge}};
    put_curve(plot, line, faded(frame.theme().accent, 0.5F), frame.u(1));
  }
}

void put_read_order(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order) {
  const auto order = frame.state.view.read_order;
  if (!order || sound.engine_off) return;
  const NamedLine line{order_line(sound, {plot.x.low, plot.x.high}, *order, as_order), "", true};
  if (line.points.empty()) return;
  put_line_over(frame, plot, line, frame.theme().warn);
  const float y = plot.at(plot.x.low, line.points.front().y).y;
  put_tag(frame, plot.box, {plot.box.x + frame.u(10), y - frame.u(4)},
          fmt::format("order {:.2f}", *order), frame.theme().warn);
}

}  // namespace howl::desk
