#pragma once

#include <string>

#include "src/entry/typed_change.h"
#include "src/entry/typed_take.h"

namespace CLI {
class App;
}

namespace howl {

using TakeOptions = TypedTake;

/// Registers them with a command; `options` must outlive it.
void describe_point_options(CLI::App& command, TakeOptions& options);
/// `with_log`: a speed log can be given.
void describe_speed_options(CLI::App& command, TakeOptions& options, bool with_log);
void describe_other_take_options(CLI::App& command, TakeOptions& options);
/// All of them, none required, and what is to be forgotten.
void describe_change_options(CLI::App& command, TypedChange& change);

/// Refuses a speed log from standard input. Throws Error (command fault).
void require_log_file(const TakeOptions& options);

/// The command that adds `recording` as such a take, to be copied into a shell.
std::string add_line(const std::string& folder, const std::string& recording,
                     const TakeOptions& take);

}  // namespace howl
