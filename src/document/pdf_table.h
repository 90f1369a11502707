#pragma once

#include "src/document/document.h"
#include "src/document/pages.h"

namespace howl::document {

/// Sets a table over as many pages as it needs, its headings again on each. Columns are as wide as
/// their words ask for, as far as the page allows; a row that is taller than what is left of the
/// page goes to the next one, and runs on from page to page if it is taller than one.
void set_table(Pages& pages, const Table& table);

/// How high it is where a page has room for all of it.
double height_of_table(double width, const Table& table);
/// Of its headings and its first row, as far as these have to stay together.
double start_of_table(double width, const Table& table);

}  // namespace howl::document
