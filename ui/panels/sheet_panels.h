#pragma once

#include <string_view>

#include "ui/look/frame.h"
#include "ui/state/sheet.h"

namespace howl::desk {

/// What fills a sheet, one file each.
void put_new_case(Frame& frame, const Area& area, const Sheet& sheet);
void put_about(Frame& frame, const Area& area, const Sheet& sheet);
void put_take_entry(Frame& frame, const Area& area, const Sheet& sheet);
void put_band_entry(Frame& frame, const Area& area, const Sheet& sheet);
void put_earlier_case(Frame& frame, const Area& area, const Sheet& sheet);
void put_chooser(Frame& frame, const Area& area, const Sheet& sheet);

/// A row with its name at the left; returns the place of what is entered.
Area sheet_row(Frame& frame, Area& rest, std::string_view name, float height = kTouch);
float sheet_field_width(const Frame& frame, float row);  ///< of that place, of a row's
/// A field of the sheet with its name at the left.
void put_field(Frame& frame, Area& rest, const Sheet& sheet, std::string_view label,
               std::string_view field, std::string_view hint = {}, bool begin = false);

}  // namespace howl::desk
