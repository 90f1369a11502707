#pragma once

#include "src/analysis/verdict.h"
#include "src/case/case.h"
#include "src/report/pictures.h"

namespace howl {

/// The suspects of the verdict, with the evidence of the first three in the words of the table.
SuspectsPicture suspects_of(const Case& value, const Verdict& verdict);

}  // namespace howl
