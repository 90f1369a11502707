#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "src/handover/data_table.h"
#include "src/report/picture_of.h"
#include "ui/state/view_state.h"

namespace howl::desk {

/// Name of the table (src/handover/tables.h) that a step is about.
std::string_view table_of_step(Step step);

/// The picture that a step is about; none where it has none.
std::optional<PictureKind> picture_of_step(const ViewState& view);
std::string_view picture_word(PictureKind kind);  ///< "ranking", for a file's name

/// Rows of cells parted by tabs, as spreadsheets take them from the clipboard; units in the heads.
std::string tabbed(const handover::DataTable& table);

}  // namespace howl::desk
