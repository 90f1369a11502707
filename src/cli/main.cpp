#include "src/cli/run.h"

int main(int argc, char** argv) { return howl::run_command_line(argc, argv); }
