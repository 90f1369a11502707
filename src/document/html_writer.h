#pragma once

#include <string>

#include "src/document/document.h"

namespace howl::document {

/// The report as one HTML file that needs nothing else: style, plots and clips are inside, and its
/// Content-Security-Policy lets nothing in or out and runs no script. Plots are SVG with a text
/// alternative and their figures in a table that opens by keyboard. Light or dark as the reader's
/// system has it; prints on white. Holds the document's manifest (src/handover/manifest.h). The
/// same document gives the same bytes.
std::string html_of(const Document& document);

}  // namespace howl::document
