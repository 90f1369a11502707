#include "ui/desk_program.h"

int main(int argc, char** argv) { return howl::desk::run_desk_program(argc, argv); }
