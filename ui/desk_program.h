#pragma once

namespace howl::desk {

/// The program howlpoint-desk: returns its exit status (0 all went well, 1 a script's expectation
/// was not met or a file is at fault, 2 the command is, 3 the machine).
int run_desk_program(int argc, const char* const* argv);

}  // namespace howl::desk
