#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "ui/state/intentions.h"

namespace howl::desk {

struct DeskState;

/// A key of the window, as its list shows it.
struct KeyHelp {
  std::string_view key;   ///< "Right", "Ctrl+O", "1"
  std::string_view does;  ///< "next step"
};
std::span<const KeyHelp> key_list();

/// What pressing an entry of a folder wishes for: to look into it, to choose it, to open the case.
Intention wish_of_entry(const Sheet& sheet, const PlaceEntry& entry);

/// What a key wishes for: its name is as in key_list(), letters in capitals, with "Ctrl+" or
/// "Shift+" before it. Nothing for a key without meaning at the moment.
std::optional<Intention> wish_of_key(std::string_view key, const DeskState& state);

}  // namespace howl::desk
