#pragma once

#include <string>

#include "src/document/document.h"
#include "src/document/pages.h"

namespace howl::document {

/// The report as PDF: vector plots, fonts embedded, words that can be searched, bookmarks, and a
/// list of contents on the second page. Holds the document's manifest (src/handover/manifest.h) and
/// no date but the document's own. The same document gives the same bytes. Throws Error (machine
/// fault) where Cairo cannot finish.
std::string pdf_of(const Document& document, Paper paper);

}  // namespace howl::document
