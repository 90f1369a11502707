#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/errors.h"
#include "src/record/portaudio_system.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

using Align = TextColumns::Align;

std::string usual_for(const SoundDevice& device) {
  if (device.usual_input && device.usual_output) return "recording, listening";
  if (device.usual_input) return "recording";
  return device.usual_output ? "listening" : "";
}

void list_devices() {
  const std::vector<SoundDevice> devices = portaudio_system()->devices();
  if (devices.empty())
    throw Error(Fault::machine, "sound devices", "there is none",
                "plug one in, and check that the sound system runs");
  TextColumns table({{.heading = "no", .align = Align::right},
                     {.heading = "device", .widest = 48},
                     {.heading = "system"},
                     {.heading = "in", .align = Align::right},
                     {.heading = "out", .align = Align::right},
                     {.heading = "rate, Hz", .align = Align::right},
                     {.heading = "usual for"}});
  for (const SoundDevice& device : devices)
    table.add({std::to_string(device.number), printable(device.name), printable(device.system),
               std::to_string(device.inputs), std::to_string(device.outputs),
               fmt::format("{:g}", device.usual_rate), usual_for(device)});
  print_result(table.text());
}

}  // namespace

void add_devices_command(CLI::App& program, Session& /*session*/) {
  CLI::App* command =
      program.add_subcommand("devices", "List the sound devices that can be recorded from");
  command->footer("howlpoint devices");
  command->callback([] { list_devices(); });
}

}  // namespace howl
