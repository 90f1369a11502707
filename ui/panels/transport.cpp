#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numeric>

#include "src/case/find_take.h"
#include "src/report/number_text.h"
#include "ui/look/flow.h"
#include "ui/look/widgets.h"
#include "ui/panels/sound_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

// Widths of the groups, in layout units.
constexpr float kPlayWidth = 92;
constexpr float kLoopWidth = 46;
constexpr float kWhatWidth = 280;
constexpr float kSpeedWidth = 120;
constexpr float kVolumeWidth = 134;
constexpr std::array<float, 5> kWidths{kPlayWidth, kLoopWidth, kSpeedWidth, kVolumeWidth,
                                       kWhatWidth};

void put_play(Frame& frame, const Area& area) {
  const bool on = frame.state.listen.wanted;
  if (button(frame, "play", area,
             {.label = on ? "Stop" : "Play",
              .sign = on ? Sign::stop : Sign::play,
              .look = ButtonLook::main}))
    frame.wish(PlaySound{!on});
}

void put_loop(Frame& frame, const Area& area) {
  const bool on = frame.state.listen.loop;
  if (button(frame, "play.loop", area, {.label = "", .sign = Sign::loop, .on = on}))
    frame.wish(LoopSound{!on});
}

void put_what(Frame& frame, const Area& area) {
  // With a dragged order line it is that order which is heard.
  const std::string_view tone = frame.state.view.read_order ? "Order" : "Tone";
  const std::array<std::string_view, 4> names{"All", "Band", tone, "All but it"};
  std::array<bool, 4> possible{};
  for (std::size_t i = 0; i < names.size(); ++i)
    possible.at(i) = can_hear(frame.state, static_cast<Heard>(i));
  if (const auto chosen = choice(frame, "play.what", area, names,
                                 static_cast<std::size_t>(frame.state.listen.heard), possible))
    frame.wish(HearAs{static_cast<Heard>(*chosen)});
}

void put_speed(Frame& frame, const Area& area) {
  constexpr std::array<std::string_view, 3> names{"1×", "½", "¼"};
  constexpr std::array<int, 3> by{1, 2, 4};
  const auto now =
      static_cast<std::size_t>(std::ranges::find(by, frame.state.listen.slowness) - by.begin());
  if (const auto chosen = choice(frame, "play.slow", area, names, now))
    frame.wish(SlowSound{by.at(*chosen)});
}

/// Each press takes the next of the points that were recorded at this speed.
void put_against(Frame& frame, const Area& area) {
  const auto possible = takes_at_same_speed(frame.state);
  const auto& other = frame.state.listen.other;
  std::string words = possible.empty() ? "No other point" : "Against …";
  if (other)
    if (const Take* take = find_take(frame.state.opened->value, *other)) words = take->point;
  const ButtonWords face{.label = words, .on = other.has_value(), .enabled = !possible.empty()};
  if (!button(frame, "play.against", area, face)) return;
  const auto at = std::ranges::find(possible, other.value_or(""));
  if (!other)
    frame.wish(HearAgainst{possible.front()});
  else if (at == possible.end() || at + 1 == possible.end())
    frame.wish(HearAgainst{});
  else
    frame.wish(HearAgainst{*(at + 1)});
}

void put_sides(Frame& frame, const Area& area) {
  constexpr std::array<std::string_view, 2> names{"A", "B"};
  const bool possible = frame.state.listen.other.has_value();
  if (const auto chosen = choice(frame, "play.side", area, names,
                                 frame.state.listen.on_other ? 1 : 0, std::array{true, possible}))
    frame.wish(HearOther{*chosen == 1});
}

void put_levels(Frame& frame, const Area& area) {
  constexpr std::array<std::string_view, 2> names{"Matched", "True"};
  if (const auto chosen =
          choice(frame, "play.levels", area, names, frame.state.listen.matched ? 0 : 1))
    frame.wish(MatchLevels{*chosen == 0});
}

void put_volume(Frame& frame, Area area) {
  const double db = frame.state.settings.volume_db;
  const Area less = area.take_left(frame.u(kTouch));
  const Area more = area.take_right(frame.u(kTouch));
  if (button(frame, "play.softer", less, {.label = "", .sign = Sign::minus}))
    frame.wish(SetVolume{db - kVolumeStep});
  if (button(frame, "play.louder", more, {.label = "", .sign = Sign::plus}))
    frame.wish(SetVolume{db + kVolumeStep});
  Area words = area.inset(0, frame.u(3));
  put_line(frame.look.fonts.label, words.take_top(words.h * 0.56F), frame.theme().ink,
           typeset(fixed_text(db, 0)) + " dB", Side::centre);
  put_line(frame.look.fonts.note, words, frame.theme().quiet, "volume", Side::centre);
}

void put_words(Frame& frame, const Area& area) {
  const ListenState& listen = frame.state.listen;
  const Theme& theme = frame.theme();
  ImFont* const font = frame.look.fonts.note;
  const auto say = [&](ImFont* with, ImU32 colour, const std::string& words) {
    if (area.h < 2 * line_height(with)) return put_line(with, area, colour, words);
    const float used = paragraph_height(with, area.w, words);
    put_paragraph(with, area.inset(0, std::max(0.0F, (area.h - used) / 2)), colour, words);
  };
  if (!listen.fault.empty())
    return say(frame.look.fonts.label, theme.warn, listen.fault + ". " + listen.remedy + ".");
  if (listen.waits)
    return say(
        font, theme.ink,
        fmt::format("Preparing {} … {:.0f} %", heard_words(frame.state), 100 * listen.prepared));
  if (listen.held_down)
    return say(frame.look.fonts.label, theme.warn,
               "As loud as it gets: peaks are held down. Turn the volume down.");
  if (listen.playing) return say(font, theme.ink, playing_words(frame.state));
  say(font, theme.quiet, "Plays what is shown. With headphones, begin softly.");
}

}  // namespace

/// What the last row takes, where there are one or two; what is said of the sound stands beside it
/// where there is room.
float last_row(const Frame& frame, float width) {
  if (Flow::rows(frame, width, kWidths) > 1) return kWhatWidth;
  return std::accumulate(kWidths.begin(), kWidths.end(), 0.0F) +
         Flow::kSpace * static_cast<float>(kWidths.size() - 1);
}
bool words_beside(const Frame& frame, float width) {
  return Flow::rows(frame, width, kWidths) <= 2 && width > frame.u(last_row(frame, width) + 260);
}

/// In a narrow place they take two lines.
float words_height(const Frame& frame, float width) {
  return width < frame.u(400) ? 2 * line_height(frame.look.fonts.note) : frame.u(20);
}

float transport_height(const Frame& frame, float width) {
  const auto rows = static_cast<float>(Flow::rows(frame, width, kWidths));
  const float below = words_beside(frame, width) ? 0 : words_height(frame, width) + frame.u(6);
  return rows * frame.u(kTouch) + (rows - 1) * frame.u(Flow::kSpace) + below;
}

void put_transport(Frame& frame, Area area) {
  Area words = area;
  if (words_beside(frame, area.w)) {
    words = area.take_bottom(frame.u(kTouch));
    words.take_left(frame.u(last_row(frame, area.w) + 12));
    area.h += frame.u(kTouch);
  } else {
    words = area.take_bottom(words_height(frame, area.w), frame.u(6));
  }
  Flow flow(frame, area, frame.u(kTouch));
  put_play(frame, flow.next(kPlayWidth));
  put_loop(frame, flow.next(kLoopWidth));
  put_speed(frame, flow.next(kSpeedWidth));
  put_volume(frame, flow.next(kVolumeWidth));
  put_what(frame, flow.next(kWhatWidth));
  put_words(frame, words);
}

void put_two_points(Frame& frame, Area area) {
  put_against(frame, area.take_top(frame.u(kTouch), frame.u(8)));
  Area row = area.take_top(frame.u(kTouch));
  put_sides(frame, row.take_left(row.w * 0.36F, frame.u(8)));
  put_levels(frame, row);
}

void put_play_line(Frame& frame, const Area& area, float x) {
  if (x < area.x || x > area.right()) return;
  const float half = frame.u(5);
  hairline({x, area.y}, {x, area.bottom()}, frame.theme().accent, frame.u(1.8F));
  ImGui::GetWindowDrawList()->AddTriangleFilled({x - half, area.y}, {x + half, area.y},
                                                {x, area.y + 1.5F * half}, frame.theme().accent);
}

}  // namespace howl::desk
