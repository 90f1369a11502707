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

/// Plots that keys reach, by the names that they have in the window.
inline constexpr std::string_view kMapName = "sound.map";
inline constexpr std::string_view kSpectrumName = "sound.spectrum";
inline constexpr std::string_view kPitchName = "pitch.plot";
bool is_plot(std::string_view target);
/// What a key wishes for in a plot that was reached; nothing where it means there what it does
/// everywhere.
std::optional<Intention> wish_of_plot_key(std::string_view key, std::string_view plot);

/// What a key wishes for: its name is as in key_list(), letters in capitals, with "Ctrl+" or
/// "Shift+" before it. Nothing for a key without meaning at the moment.
std::optional<Intention> wish_of_key(std::string_view key, const DeskState& state);

}  // namespace howl::desk
