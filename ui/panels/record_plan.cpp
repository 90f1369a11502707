#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "src/report/scale.h"
#include "ui/look/flow.h"
#include "ui/look/widgets.h"
#include "ui/panels/load_choice.h"
#include "ui/panels/record_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr float kNameWidth = 96;

void adjust(Frame& frame, AdjustPlan change) { frame.wish(PlanTakes{std::move(change)}); }

std::string rpm_text(double rpm) { return picture::format_number(rpm, 0); }

/// A row with its name at the left; returns what is left of it.
Area named_row(Frame& frame, Area& rest, std::string_view name, float height = kTouch) {
  Area row = rest.take_top(frame.u(height), frame.u(10));
  put_line(frame.look.fonts.label, row.take_left(frame.u(kNameWidth), frame.u(8)),
           frame.theme().quiet, name);
  return row;
}

// ---- where -------------------------------------------------------------------------------------

void put_point_to_record(Frame& frame, const ProbePoint& point, const Area& row) {
  const OpenedCase& opened = *frame.state.opened;
  const RecordPlan& plan = frame.state.record.plan;
  const std::size_t takes = takes_at(opened.value, point.name);
  const bool lit = !plan.session && plan.point == point.name;
  const Touch touched = touch(frame, "record.point." + point.name, row);
  const Theme& theme = frame.theme();
  if (lit || touched.over) fill(row, lit ? theme.lit : faded(theme.raised, 0.55F), frame.u(6));
  Area inner = row.inset(frame.u(10), frame.u(4));
  const float round = frame.u(22);
  const Area sign = inner.take_left(round, frame.u(10));
  put_sign({sign.x, sign.y + (sign.h - round) / 2, round, round},
           takes > 0 ? Sign::tick : Sign::circle, takes > 0 ? theme.good : theme.quiet);
  if (takes > 0)
    put_line(frame.look.fonts.note, inner.take_right(frame.u(62)), theme.quiet,
             fmt::format("{} {}", takes, takes == 1 ? "take" : "takes"), Side::right);
  put_line(lit ? frame.look.fonts.strong : frame.look.fonts.body, inner, theme.ink, point.name);
  if (touched.pressed) {
    adjust(frame, {.point = point.name, .session = false});
  }
}

void put_points_to_record(Frame& frame, const Area& area) {
  const OpenedCase& opened = *frame.state.opened;
  scrolled(frame, "record.points", area, [&](Area& rows) {
    for (const ProbePoint& point : all_points(opened.value, opened.profile))
      put_point_to_record(frame, point, rows.take_top(frame.u(48), frame.u(2)));
  });
}

// ---- how ---------------------------------------------------------------------------------------

void put_speed_known(Frame& frame, Area& rest) {
  constexpr std::array<std::string_view, 3> names{"Entered", "By the sound", "Engine off"};
  const Area row = named_row(frame, rest, "Speed");
  const auto now = static_cast<std::size_t>(frame.state.record.plan.speed);
  if (const auto chosen = choice(frame, "record.speed", row, names, now))
    adjust(frame, {.speed = static_cast<SpeedKnown>(*chosen)});
}

void put_rpm(Frame& frame, Area& rest) {
  const RecordPlan& plan = frame.state.record.plan;
  // Where there is little room it takes that of the names, too.
  constexpr float least = 460;
  Area row = rest.w > frame.u(least) ? named_row(frame, rest, "", 56)
                                     : rest.take_top(frame.u(56), frame.u(10));
  const float side = frame.u(64);
  if (button(frame, "record.rpm.less", row.take_left(side, frame.u(8)),
             {.label = "", .sign = Sign::minus}))
    adjust(frame, {.rpm = plan.rpm - kRpmStep});
  const Area pad = row.take_right(side);
  const Area more = row.take_right(side, frame.u(8));
  row.w -= frame.u(8);
  if (button(frame, "record.rpm.more", {more.x - frame.u(8), more.y, more.w, more.h},
             {.label = "", .sign = Sign::plus}))
    adjust(frame, {.rpm = plan.rpm + kRpmStep});
  if (button(frame, "record.rpm.pad", pad, {.label = "123"})) frame.wish(TypeSpeed{true, {}});
  put_line(frame.look.fonts.figure, row, frame.theme().ink, rpm_text(plan.rpm) + " rpm",
           Side::centre);
}

void put_road_speed(Frame& frame, Area& rest) {
  const double kmh = frame.state.record.plan.road_kmh;
  Area row = named_row(frame, rest, "Vehicle");
  const float side = frame.u(64);
  if (button(frame, "record.road.less", row.take_left(side, frame.u(8)),
             {.label = "", .sign = Sign::minus, .enabled = kmh > 0}))
    adjust(frame, {.road_kmh = kmh - kRoadStep});
  if (button(frame, "record.road.more", row.take_right(side, frame.u(8)),
             {.label = "", .sign = Sign::plus}))
    adjust(frame, {.road_kmh = kmh + kRoadStep});
  put_line(frame.look.fonts.strong, row, frame.theme().ink,
           kmh > 0 ? fmt::format("drives at {:.0f} km/h", kmh) : "stands", Side::centre);
}

/// The speeds of a session: those chosen, and the one above to be put among them.
void put_holds(Frame& frame, Area& rest) {
  const RecordPlan& plan = frame.state.record.plan;
  Area row = named_row(frame, rest, "At each");
  Flow flow(frame, row, row.h);
  for (const double hold : plan.holds) {
    const std::string label = hold == 0 ? "off" : rpm_text(hold);
    const ButtonWords words{.label = label, .sign = Sign::cross, .on = true};
    if (button(frame, fmt::format("record.hold.{:.0f}", hold),
               flow.next_pixels(button_width(frame, words)), words))
      adjust(frame, {.toggle_hold = hold});
  }
  if (std::ranges::find(plan.holds, plan.rpm) != plan.holds.end()) return;
  const std::string another = rpm_text(plan.rpm);
  const ButtonWords add{.label = another, .sign = Sign::plus};
  if (button(frame, "record.hold.add", flow.next_pixels(button_width(frame, add)), add))
    adjust(frame, {.toggle_hold = plan.rpm});
  rest.y = std::max(rest.y, flow.bottom() + frame.u(10));
}

void put_seconds(Frame& frame, Area& rest) {
  constexpr std::array<std::string_view, 5> names{"5 s", "10 s", "20 s", "30 s", "Till stopped"};
  constexpr std::array<double, 5> values{5, 10, 20, 30, 0};
  const Area row = named_row(frame, rest, "Length");
  const auto now = static_cast<std::size_t>(
      std::ranges::find(values, frame.state.record.plan.seconds) - values.begin());
  if (const auto chosen = choice(frame, "record.length", row, names, now))
    adjust(frame, {.seconds = values.at(*chosen)});
}

void put_countdown(Frame& frame, Area& rest) {
  constexpr std::array<std::string_view, 4> names{"At once", "3 s", "5 s", "10 s"};
  constexpr std::array<double, 4> values{0, 3, 5, 10};
  const Area row = named_row(frame, rest, "Countdown");
  const auto now = static_cast<std::size_t>(
      std::ranges::find(values, frame.state.record.plan.countdown) - values.begin());
  if (const auto chosen = choice(frame, "record.countdown", row, names, now))
    adjust(frame, {.countdown = values.at(*chosen)});
}

void put_load_choices(Frame& frame, Area& rest) {
  const float top = rest.y;
  Area row = named_row(frame, rest, "Load");
  Flow flow(frame, row, row.h);
  for (const LoadTest& test : load_tests()) {
    if (is_test_possible(frame.state.opened->profile, test.key)) {
      const auto said = frame.state.record.plan.load.find(test.key);
      const bool is_said = said != frame.state.record.plan.load.end();
      if (auto next = load_button(frame, "record.load." + test.key, test,
                                  is_said ? said->second : std::string(), flow))
        adjust(frame, {.load = std::pair(test.key, *next)});
    }
  }
  const ButtonWords background{.label = "suspect does not work",
                               .on = frame.state.record.plan.background};
  if (button(frame, "record.background", flow.next_pixels(button_width(frame, background)),
             background))
    adjust(frame, {.background = !frame.state.record.plan.background});
  const float used = flow.bottom() - top + frame.u(10);
  if (used > rest.y - top) rest.take_top(used - (rest.y - top));
}

void put_settings(Frame& frame, const Area& area) {
  const RecordPlan& plan = frame.state.record.plan;
  scrolled(frame, "record.settings", area, [&](Area& rest) {
    constexpr std::array<std::string_view, 2> names{"One take", "Point after point"};
    const Area row = named_row(frame, rest, "Record");
    if (const auto chosen = choice(frame, "record.session", row, names, plan.session ? 1 : 0))
      adjust(frame, {.session = *chosen == 1});
    if (!plan.session) put_speed_known(frame, rest);
    if (plan.session || plan.speed == SpeedKnown::entered) put_rpm(frame, rest);
    if (plan.session) put_holds(frame, rest);
    put_road_speed(frame, rest);
    put_load_choices(frame, rest);
    put_seconds(frame, rest);
    put_countdown(frame, rest);
  });
}

/// Above the button that begins it, in full; in a low view in one line that tells the rest.
void put_cautions_of_plan(Frame& frame, Area& rest) {
  const std::vector<std::string> cautions = cautions_of(frame.state.record.plan);
  if (cautions.empty()) return;
  const std::string words = fmt::format("{}.", fmt::join(cautions, ". "));
  ImFont* const font = frame.look.fonts.label;
  constexpr float kLowPlan = 420;
  const float side = frame.u(18);
  const float gap = frame.u(10);
  const bool low = rest.h < frame.u(kLowPlan);
  const float height = low ? line_height(font) : paragraph_height(font, rest.w - side - gap, words);
  Area area = rest.take_bottom(height, frame.u(kGap));
  frame.targets.insert_or_assign("words.cautions", area);
  const Area sign = area.take_left(side, gap);
  put_sign({sign.x, sign.y, side, side}, Sign::warning, frame.theme().warn);
  if (low)
    put_line(font, area, frame.theme().warn, words);
  else
    put_paragraph(font, area, frame.theme().warn, words);
}

std::string begin_words(const RecordPlan& plan, const std::vector<SessionStep>& steps,
                        const RecordState& record) {
  if (record.has_no_device()) return "Nothing to record with: look again";
  if (plan.session)
    return steps.empty()
               ? "Nothing is left to record"
               : fmt::format("Begin: {} {}", steps.size(), steps.size() == 1 ? "take" : "takes");
  if (steps.empty()) return "Pick a point first";
  return fmt::format("Record at {}, {}", steps.front().point, hold_words(steps.front().speed));
}

}  // namespace

void put_microphone(Frame& frame, Area area) {
  const RecordState& record = frame.state.record;
  const ButtonWords again{.label = "Look again"};
  if (button(frame, "record.devices", area.take_right(button_width(frame, again), frame.u(8)),
             again))
    frame.wish(ListDevices{});
  if (!record.device_fault.empty()) {
    put_paragraph(frame.look.fonts.note, area, frame.theme().warn,
                  record.device_fault + ". " + record.device_remedy + ".");
    return;
  }
  const std::string words = !record.devices_known
                                ? "Looking for microphones …"
                                : "Microphone: " + record.plan.device.value_or("the usual one");
  if (!button(frame, "record.device", area, {.label = words, .enabled = !record.devices.empty()}))
    return;
  const auto at =
      std::ranges::find(record.devices, record.plan.device.value_or(""), &DeviceChoice::name);
  if (!record.plan.device)
    adjust(frame, {.device = record.devices.front().name});
  else
    adjust(frame, {.device = at == record.devices.end() || at + 1 == record.devices.end()
                                 ? std::string()
                                 : (at + 1)->name});
}

void put_record_plan(Frame& frame, const Area& area) {
  Area rest = area;
  const RecordPlan& plan = frame.state.record.plan;
  const std::vector<SessionStep> steps = steps_of(plan, frame.state);
  if (button(frame, "record.begin", rest.take_bottom(frame.u(60), frame.u(kGap)),
             {.label = begin_words(plan, steps, frame.state.record),
              .sign = Sign::record,
              .look = ButtonLook::main,
              .enabled = !steps.empty() && !frame.state.record.has_no_device()}))
    frame.wish(BeginRecording{});
  put_cautions_of_plan(frame, rest);
  const Area left = rest.take_left(rest.w * 0.40F, frame.u(kGap));
  put_points_to_record(frame, card(frame, left, "Where", plan.session ? "all that are left" : ""));
  put_settings(frame, card(frame, rest, "How"));
}

}  // namespace howl::desk
