#include "ui/look/widgets.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "ui/look/sight.h"

namespace howl::desk {
namespace {

constexpr float kRounding = 7;

struct ButtonColours {
  ImU32 ground;
  ImU32 words;
};

ButtonColours colours_of(const Frame& frame, const ButtonWords& words, const Touch& touched) {
  const Theme& theme = frame.theme();
  if (words.look == ButtonLook::main)
    return {touched.over ? faded(theme.accent, 0.88F) : theme.accent, theme.on_accent};
  if (words.on) return {theme.lit, theme.accent};
  const bool bare = words.look == ButtonLook::bare;
  const ImU32 ground = bare && !touched.over ? 0 : theme.raised;
  return {touched.over && !bare ? faded(theme.raised, 0.8F) : ground, theme.ink};
}

void button_face(Frame& frame, const Area& area, const ButtonWords& words, ButtonColours colours) {
  ImFont* const font = frame.look.fonts.strong;
  const float sign = frame.u(18);
  const float gap = words.label.empty() ? 0 : frame.u(9);
  const float content = text_width(font, words.label) + (words.sign ? sign + gap : 0);
  float x = area.x + std::max(frame.u(4), (area.w - content) / 2);
  if (words.sign) {
    put_sign({x, area.y + (area.h - sign) / 2, sign, sign}, *words.sign, colours.words);
    x += sign + gap;
  }
  put_line(font, {x, area.y, area.right() - x - frame.u(3), area.h}, colours.words, words.label);
}

std::vector<Area> column_areas(const Frame& frame, const Area& row,
                               std::span<const Column> columns) {
  float sum = 0;
  for (const Column& column : columns) sum += column.share;
  std::vector<Area> areas;
  float x = row.x;
  for (const Column& column : columns) {
    const float width = row.w * column.share / sum;
    areas.push_back({x + frame.u(6), row.y, width - frame.u(12), row.h});
    x += width;
  }
  return areas;
}

void table_heading(Frame& frame, const Area& row, std::span<const Column> columns) {
  const auto areas = column_areas(frame, row, columns);
  for (std::size_t i = 0; i < columns.size(); ++i)
    put_line(frame.look.fonts.label, areas[i], frame.theme().quiet, columns[i].heading,
             columns[i].side);
  hairline({row.x, row.bottom()}, {row.right(), row.bottom()}, frame.theme().rule);
}

void table_row(Frame& frame, const Area& area, std::span<const Column> columns, const Row& row,
               bool over) {
  const Theme& theme = frame.theme();
  if (row.lit || over) fill(area, row.lit ? theme.lit : faded(theme.raised, 0.55F), frame.u(5));
  if (row.mark)
    fill({area.x, area.y + frame.u(7), frame.u(3.5F), area.h - frame.u(14)}, *row.mark, frame.u(2));
  const auto areas = column_areas(frame, area, columns);
  for (std::size_t i = 0; i < std::min(columns.size(), row.cells.size()); ++i) {
    Area cell = areas[i];
    if (row.warning && i + 1 == columns.size()) {
      const Area sign = cell.take_right(frame.u(17), frame.u(5));
      put_sign({sign.x, area.y + (area.h - sign.w) / 2, sign.w, sign.w}, *row.warning, theme.warn);
    }
    ImFont* const font = row.lit && i == 0 ? frame.look.fonts.strong : frame.look.fonts.body;
    put_line(font, cell, row.quiet ? theme.quiet : theme.ink, row.cells[i], columns[i].side);
  }
}

}  // namespace

Touch touch(Frame& frame, std::string_view name, const Area& area) {
  Touch touched = touch_place(frame, name, area);
  frame.walk.pass(name, area);
  if (frame.walk.arrived(name)) scroll_to(area);
  if (frame.walk.take_press(name)) touched.pressed = true;
  return touched;
}

Touch touch_place(Frame& frame, std::string_view name, const Area& area) {
  const std::string id(name);
  frame.targets.insert_or_assign(id, area);
  if (area.w <= 0 || area.h <= 0) return {};
  ImGui::SetCursorScreenPos(area.from());
  const bool pressed = ImGui::InvisibleButton(id.c_str(), area.size());
  return {ImGui::IsItemHovered(), ImGui::IsItemActive(), pressed};
}

bool button(Frame& frame, std::string_view name, const Area& area, const ButtonWords& words) {
  Touch touched = touch(frame, name, area);
  if (!words.enabled) touched = {};
  ButtonColours colours = colours_of(frame, words, touched);
  // What cannot be pressed is never lit, but can still be read.
  if (!words.enabled) {
    const bool bare = words.look == ButtonLook::bare;
    colours = {bare ? 0 : faded(frame.theme().raised, 0.5F), faded(frame.theme().ink, 0.5F)};
  }
  fill(area, colours.ground, frame.u(kRounding));
  if (words.on) outline(area, frame.theme().accent, frame.u(kRounding), frame.u(1.5F));
  button_face(frame, area, words, colours);
  return touched.pressed;
}

float button_width(const Frame& frame, const ButtonWords& words) {
  const float sign = words.sign ? frame.u(words.label.empty() ? 18 : 27) : 0;
  return std::round(text_width(frame.look.fonts.strong, words.label) + sign + frame.u(32));
}

namespace {

/// Equal, or by their words where one of equal width would leave a label no room at its sides.
std::vector<float> choice_widths(const Frame& frame, float room,
                                 std::span<const std::string_view> labels) {
  std::vector<float> texts;
  for (const std::string_view label : labels)
    texts.push_back(text_width(frame.look.fonts.strong, label));
  const float equal = room / static_cast<float>(labels.size());
  if (std::ranges::max(texts) + frame.u(24) <= equal)
    return std::vector<float>(labels.size(), equal);
  const float spare = room - std::accumulate(texts.begin(), texts.end(), 0.0F);
  for (float& width : texts) width += spare / static_cast<float>(labels.size());
  return texts;
}

}  // namespace

std::optional<std::size_t> choice(Frame& frame, std::string_view name, const Area& area,
                                  std::span<const std::string_view> labels, std::size_t chosen,
                                  std::span<const bool> possible) {
  const Theme& theme = frame.theme();
  fill(area, theme.raised, frame.u(kRounding));
  std::optional<std::size_t> pressed;
  const std::vector<float> widths = choice_widths(frame, area.w, labels);
  Area rest = area;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    // All of the height can be hit, though less of it is drawn.
    const Area cell = rest.take_left(widths[i]);
    const Area part = cell.inset(frame.u(3));
    const bool can = possible.empty() || possible[i];
    Touch touched = touch(frame, std::string(name) + "." + std::string(labels[i]), cell);
    if (!can) touched = {};
    if (i == chosen)
      fill(part, theme.accent, frame.u(kRounding - 2));
    else if (touched.over)
      fill(part, faded(theme.card, 0.6F), frame.u(kRounding - 2));
    put_line(frame.look.fonts.strong, part,
             i == chosen ? theme.on_accent : faded(theme.ink, can ? 1.0F : 0.4F), labels[i],
             Side::centre);
    if (touched.pressed) pressed = i;
  }
  return pressed;
}

/// What a card needs to give its remark lines of its own.
constexpr float kLeastForRemark = 130;

Area card(Frame& frame, const Area& area, std::string_view title, std::string_view remark) {
  const Theme& theme = frame.theme();
  fill(area, theme.card, frame.u(10));
  if (!theme.dark) outline(area, theme.rule, frame.u(10));
  Area inner = area.inset(frame.u(kPad), frame.u(12));
  if (title.empty()) return inner;
  ImFont* const font = frame.look.fonts.strong;
  const Area head = inner.take_top(line_height(font), frame.u(8));
  const float used = text_width(font, title) + frame.u(12);
  put_line(font, head, theme.ink, title);
  if (remark.empty()) return inner;
  ImFont* const note = frame.look.fonts.note;
  if (text_width(note, remark) <= head.w - used)
    put_line(note, {head.x + used, head.y, head.w - used, head.h}, theme.quiet, remark,
             Side::right);
  else if (area.h > frame.u(kLeastForRemark))  // below the title, else left out: never cut
    inner.take_top(put_paragraph(note, inner, theme.quiet, remark), frame.u(6));
  return inner;
}

namespace {

/// Within what is scrolled, over what it holds.
void fade_edges(Frame& frame, const Area& seen) {
  const float scroll = ImGui::GetScrollY();
  const float high = std::min(frame.u(20), seen.h / 4);
  const ImU32 full = frame.theme().card;
  const ImU32 none = faded(full, 0);
  ImDrawList& list = *ImGui::GetWindowDrawList();
  if (scroll > 1)
    list.AddRectFilledMultiColor(seen.from(), {seen.right(), seen.y + high}, full, full, none,
                                 none);
  if (scroll < ImGui::GetScrollMaxY() - 1)
    list.AddRectFilledMultiColor({seen.x, seen.bottom() - high}, seen.to(), none, none, full, full);
}

}  // namespace

Area whole_rows(Area area, float row, float gap) {
  const float rows = std::max(1.0F, std::floor((area.h + gap) / (row + gap)));
  area.h = rows * (row + gap) - gap;
  return area;
}

void scrolled(Frame& frame, std::string_view name, const Area& area,
              const std::function<void(Area&)>& content, ScrollEdge edge) {
  if (area.w < 1 || area.h < 1) return;
  ImGui::SetCursorScreenPos(area.from());
  ImGui::PushStyleColor(ImGuiCol_ScrollbarBg, 0);
  ImGui::PushStyleColor(ImGuiCol_ScrollbarGrab, frame.theme().rule);
  ImGui::PushStyleColor(ImGuiCol_ScrollbarGrabHovered, frame.theme().quiet);
  ImGui::PushStyleColor(ImGuiCol_ScrollbarGrabActive, frame.theme().quiet);
  ImGui::PushStyleVar(ImGuiStyleVar_ScrollbarSize, frame.u(10));
  ImGui::BeginChild(std::string(name).c_str(), area.size(), false, ImGuiWindowFlags_NoNav);
  const ImVec2 start = ImGui::GetCursorScreenPos();
  constexpr float endless = 1e6F;
  Area rest{start.x, start.y, area.w - frame.u(12), endless};
  content(rest);
  ImGui::SetCursorScreenPos(start);
  ImGui::Dummy({rest.w, std::max(1.0F, rest.y - start.y)});
  if (edge == ScrollEdge::fades) fade_edges(frame, {area.x, area.y, rest.w, area.h});
  ImGui::EndChild();
  ImGui::PopStyleVar();
  ImGui::PopStyleColor(4);
}

void on_top(Frame& frame, std::string_view name, const Area& area,
            const std::function<void()>& content) {
  frame.walk.cover(area);
  ImGui::SetCursorScreenPos(area.from());
  ImGui::BeginChild(
      std::string(name).c_str(), area.size(), false,
      ImGuiWindowFlags_NoNav | ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoScrollWithMouse);
  content();
  ImGui::EndChild();
}

std::optional<std::string> table(Frame& frame, std::string_view name, const Area& area,
                                 std::span<const Column> columns, std::span<const Row> rows) {
  Area rest = area;
  const float height = frame.u(34);
  Area heading = rest.take_top(frame.u(26), frame.u(3));
  heading.w -= frame.u(12);
  table_heading(frame, heading, columns);
  std::optional<std::string> pressed;
  const auto put_rows = [&](Area& list) {
    for (const Row& row : rows) {
      const Area area_of_row = list.take_top(height);
      const std::string row_name = std::string(name) + "." + row.id;
      const Touch touched = touch(frame, row_name, area_of_row);
      if (row.lit) bring_to_sight(area_of_row, row.id, height);
      if (frame.walk.arrived(row_name)) scroll_to(area_of_row, height);
      table_row(frame, area_of_row, columns, row, touched.over);
      if (touched.pressed) pressed = row.id;
    }
  };
  // Whole rows only, so that none is cut through.
  scrolled(frame, name, whole_rows(rest, height), put_rows, ScrollEdge::plain);
  return pressed;
}

void nothing_to_show(Frame& frame, const Area& area, std::string_view why) {
  ImFont* const font = frame.look.fonts.body;
  const float width = std::min({area.w, frame.u(420), text_width(font, why) + 1});
  const float height = paragraph_height(font, width, why);
  put_paragraph(font,
                {area.x + (area.w - width) / 2, area.y + std::max(0.0F, (area.h - height) / 2),
                 width, height + 1},
                frame.theme().quiet, why, Side::centre);
}

}  // namespace howl::desk
