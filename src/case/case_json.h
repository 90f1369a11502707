#pragma once

#include <string>
#include <string_view>

#include "src/case/case.h"

namespace howl {

/// The text of case.json and back; its fields are described in case_schema.md.
std::string json_of_case(const Case& value);

/// Throws Error that names the field: not JSON, another schema, a newer version, a field that is
/// missing, of the wrong type or out of range, a path that leads out of the case folder. `where`
/// names the file in messages.
Case case_of_json(std::string_view text, const std::string& where);

}  // namespace howl
