#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "src/demo/recipe.h"

namespace howl {

/// Called before each take is made: the case, how many takes of it are done, and of how many.
using DemoProgress =
    std::function<void(const std::string& name, std::size_t done, std::size_t takes)>;

/// Makes `folder`/<recipe name>/ for every built-in recipe, and another after the repair where the
/// recipe has one: a case with its takes, as somebody would have recorded it, and beside it
/// truth.json with what is really at fault. Throws Error
/// (command fault) before anything is written if one of the folders is there already; a case that
/// fails half way leaves nothing behind.
void make_demo_cases(const std::filesystem::path& folder, const DemoProgress& progress = {});

/// The same for one recipe; `case_folder` must not be there yet.
void make_demo_case(const Recipe& recipe, const std::filesystem::path& case_folder,
                    const DemoProgress& progress = {});

}  // namespace howl
