#pragma once

#include <string_view>

namespace howl {

/// To be called first in main. Makes a reader that goes away an ordinary write error instead of the
/// end of the program, and occupies closed standard descriptors, so that no file that the program
/// opens later can take the place of standard output.
void prepare_standard_streams();

/// Writes all of `text` to standard output. Throws Error (machine fault) when that fails; a reader
/// that has seen enough and closed its pipe is no failure.
void print_result(std::string_view text);

/// Writes one line to standard error; never fails.
void print_message(std::string_view line);

bool standard_error_is_terminal();
bool standard_output_is_terminal();

}  // namespace howl
