#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace howl {

/// A note at a place in a take's spectrogram, or in its order map: for a class, or for oneself. No
/// part of the findings, nor of reports.
struct PinnedNote {
  static constexpr std::size_t longest = 300;  ///< bytes of its text

  std::string take;  ///< its id
  double time_s{};   ///< from the start of the take, ≥ 0
  /// Where it is pinned; exactly one is set. One at an order stays at that order, whatever the
  /// engine does; ≥ 0.
  std::optional<double> frequency_hz;
  std::optional<double> order;
  std::string text;
  friend bool operator==(const PinnedNote&, const PinnedNote&) = default;
};

/// `<folder>/notes.json`, as case_schema.md describes it; empty where there is none. Throws Error
/// (file fault) that says what in it cannot be understood.
std::vector<PinnedNote> load_pinned_notes(const std::filesystem::path& folder);
/// Atomic, while no other program writes to the case. Without notes the file goes.
void save_pinned_notes(const std::filesystem::path& folder, const std::vector<PinnedNote>& notes);

}  // namespace howl
