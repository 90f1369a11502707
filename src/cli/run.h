#pragma once

namespace howl {

/// The whole program `howlpoint`: parses, runs one command, reports errors on standard error.
/// Returns the exit status: 0 done, 1 the case or file is at fault, 2 the command is, 3 the
/// machine.
int run_command_line(int argc, const char* const* argv);

}  // namespace howl
