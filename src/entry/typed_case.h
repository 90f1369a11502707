#pragma once

#include <filesystem>
#include <string>

#include "src/case/case.h"

namespace howl {

/// A case to be begun, as typed.
struct TypedCase {
  std::string folder;
  std::string profile;  ///< a name of list_profiles(), or a .toml file
  std::string title;    ///< empty: the folder's name
};

/// Makes the folder with the profile's probe points. Throws Error.
Case begin_case(const TypedCase& typed);

/// Throws Error (command fault) where a title says nothing.
void require_title(const std::string& title);

}  // namespace howl
