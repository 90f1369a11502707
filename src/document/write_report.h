#pragma once

#include <filesystem>

#include "src/document/document.h"
#include "src/document/pages.h"

namespace howl::document {

enum class ReportFormat { pdf, html };

/// By the ending of the name, in capitals or not. Throws Error (command fault) for any other.
ReportFormat report_format_of(const std::filesystem::path& file);

/// Writes the report, whole or not at all; the format follows the ending. Throws Error.
void write_report(const Document& document, Paper paper, const std::filesystem::path& file);

}  // namespace howl::document
