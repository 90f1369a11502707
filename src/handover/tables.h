#pragma once

#include <vector>

#include "src/analysis/analysis.h"
#include "src/case/case.h"
#include "src/handover/data_table.h"
#include "src/report/pictures.h"

namespace howl::handover {

/// Every number of an analysis, a table each: takes, warnings, speed by the sound, tones, tracks,
/// laws, families, impacts, ranking, load changes, suspects, causes, evidence, next tests, repairs,
/// workshop evidence.
std::vector<DataTable> tables_of(const Case& value, const Analysis& analysis);

/// All values that a picture shows: curves point by point, maps as a column for each place on the
/// x axis. `name` becomes the table's.
DataTable data_of(const AnyPicture& picture, const std::string& name);

}  // namespace howl::handover
