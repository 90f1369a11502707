#pragma once

#include <string>
#include <string_view>

#include "src/case/case.h"
#include "src/errors.h"

namespace howl {

/// Null where the case has no take of that id.
const Take* find_take(const Case& value, std::string_view id);

/// Throws no_such_take() where it has none.
const Take& take_of_case(const Case& value, std::string_view id, const std::string& where);

/// Says that it has none, and which there are. `where` names what asked for it ("--take t09").
Error no_such_take(const Case& value, const std::string& where);

}  // namespace howl
