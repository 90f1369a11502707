#pragma once

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

}  // namespace howl
