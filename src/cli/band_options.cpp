#include "src/cli/band_options.h"

#include <CLI/CLI.hpp>

#include "src/entry/typed_values.h"
#include "src/errors.h"

namespace howl {

using Band = AnalysisRequest::Band;

void BandOptions::describe(CLI::App& command) {
  command
      .add_option(
          "--band", hertz,
          "Where the complaint lies, in Hz: 300:400\n(default: the program proposes a band)")
      ->type_name("LOW:HIGH");
  command
      .add_option("--orders", orders,
                  "The same in orders (cycles per crankshaft\nrevolution), so that it follows the "
                  "engine: 9.5:10.5")
      ->type_name("LOW:HIGH");
}

AnalysisRequest BandOptions::request() const {
  if (hertz && orders)
    throw Error(Fault::command, "--band and --orders", "both were given",
                "give the band in Hz or in orders, not in both");
  if (hertz) return {Band{Band::Unit::hertz, range_of(*hertz, "--band")}};
  if (orders) return {Band{Band::Unit::order, range_of(*orders, "--orders")}};
  return {};
}

}  // namespace howl
