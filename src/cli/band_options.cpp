#include "src/cli/band_options.h"

#include <CLI/CLI.hpp>

namespace howl {

void BandOptions::describe(CLI::App& command) {
  command
      .add_option(
          "--band", typed.hertz,
          "Where the complaint lies, in Hz: 300:400\n(default: the program proposes a band)")
      ->type_name("LOW:HIGH");
  command
      .add_option("--orders", typed.orders,
                  "The same in orders (cycles per crankshaft\nrevolution), so that it follows the "
                  "engine: 9.5:10.5")
      ->type_name("LOW:HIGH");
}

}  // namespace howl
