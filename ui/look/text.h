#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "ui/look/frame.h"

namespace howl::desk {

enum class Side { left, centre, right };

float text_width(const ImFont* font, std::string_view text);

/// One line whose top is at `at`; `side` says which side of it `at` is.
void put_text(ImFont* font, ImVec2 at, ImU32 colour, std::string_view text, Side side = Side::left);
/// One line in the middle of the area's height, ending in "…" where it does not fit. What was
/// shortened is told in full while the mouse is over it, or keys have reached what holds it.
void put_line(ImFont* font, const Area& area, ImU32 colour, std::string_view text,
              Side side = Side::left);
/// What was shortened in an area, in full, while the mouse is over it or keys have reached it.
void tell_whole(ImFont* font, const Area& area, std::string_view text);
/// Broken at spaces to the area's width, "…" where its height does not suffice. Returns the height
/// used.
float put_paragraph(ImFont* font, const Area& area, ImU32 colour, std::string_view text,
                    Side side = Side::left);
/// The height that put_paragraph() would use with room enough.
float paragraph_height(ImFont* font, float width, std::string_view text);

/// Numbers of src/ with the minus sign of typesetting: "-31.3" reads "−31.3".
std::string typeset(std::string_view text);

float line_height(const ImFont* font);

/// What keys have reached, for put_line() and put_paragraph(): the window sets Dear ImGui's
/// UserData to one.
struct ReachedByKeys {
  std::optional<Area> area;
};

}  // namespace howl::desk
