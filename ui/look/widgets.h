#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ui/look/frame.h"
#include "ui/look/shapes.h"
#include "ui/look/text.h"

namespace howl::desk {

/// What the mouse does with a place.
struct Touch {
  bool over{};
  bool held{};
  bool pressed{};  ///< let go over it: a click
};
/// Something that can be pressed, by the mouse or by keys, by a name that is unique in the window.
Touch touch(Frame& frame, std::string_view name, const Area& area);
/// The same for the mouse alone: what is pressed is a place, or lies behind everything.
Touch touch_place(Frame& frame, std::string_view name, const Area& area);

enum class ButtonLook { main, plain, bare };
struct ButtonWords {
  std::string_view label;
  std::optional<Sign> sign{};
  ButtonLook look{ButtonLook::plain};
  bool on{};  ///< of one that stays pressed
  bool enabled{true};
};
bool button(Frame& frame, std::string_view name, const Area& area, const ButtonWords& words);
/// As wide as its words need, with room for a hand.
float button_width(const Frame& frame, const ButtonWords& words);

/// Several choices in a row, one of which holds. Returns the one that was pressed. `possible`:
/// which can be chosen; all where it is empty.
std::optional<std::size_t> choice(Frame& frame, std::string_view name, const Area& area,
                                  std::span<const std::string_view> labels, std::size_t chosen,
                                  std::span<const bool> possible = {});

/// A panel's ground with its title; returns what is left for its content.
Area card(Frame& frame, const Area& area, std::string_view title, std::string_view remark = {});

enum class ScrollEdge { fades, plain };
/// Scrolls what `content` draws. It is given the width there is and all the height it wants; what
/// it takes off the top is how much it needs. Where it goes on beyond an edge it fades out there,
/// into a card's colour, so that nothing looks cut through.
void scrolled(Frame& frame, std::string_view name, const Area& area,
              const std::function<void(Area&)>& content, ScrollEdge edge = ScrollEdge::fades);
/// As much of an area as whole rows fill, with `gap` between them; one row at least.
Area whole_rows(Area area, float row, float gap = 0);

/// What `content` draws lies over everything drawn so far, and takes the mouse from it.
void on_top(Frame& frame, std::string_view name, const Area& area,
            const std::function<void()>& content);

struct Column {
  std::string_view heading;
  float share{1};  ///< of the width, against the others'
  Side side{Side::left};
};
struct Row {
  std::string id;
  std::vector<std::string> cells;
  bool lit{};
  bool quiet{};                   ///< less important
  std::optional<ImU32> mark{};    ///< a colour before its first cell
  std::optional<Sign> warning{};  ///< after its last
};
/// Rows that can be picked. Returns the id of the one that was pressed.
std::optional<std::string> table(Frame& frame, std::string_view name, const Area& area,
                                 std::span<const Column> columns, std::span<const Row> rows);

/// Says in the middle of a panel why there is nothing to see in it.
void nothing_to_show(Frame& frame, const Area& area, std::string_view why);

}  // namespace howl::desk
