#pragma once

#include <filesystem>
#include <string_view>
#include <vector>

#include "src/document/pages.h"

namespace howl::desk {

/// What a case is handed over as.
enum class HandOver { pdf, html, tables, packed };
/// "PDF report" …
std::string_view hand_over_name(HandOver what);

/// Beside the case's folder, under its name, with an ending, where nothing is yet.
std::filesystem::path free_place(const std::filesystem::path& folder, std::string_view stem,
                                 std::string_view ending);
/// Beside the case's folder, under its name, where nothing is yet: "whine-report.pdf", and where
/// that is taken "whine-report-2.pdf" …
std::filesystem::path free_place(const std::filesystem::path& folder, HandOver what);

struct HandOverState {
  document::Paper paper{};
  std::vector<std::filesystem::path> written;  ///< of this case, newest first
};

}  // namespace howl::desk
