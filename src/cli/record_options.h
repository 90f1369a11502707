#pragma once

#include <optional>
#include <string>

#include "src/record/record_take.h"
#include "src/record/sound_system.h"

namespace CLI {
class App;
}

namespace howl {

/// How to record, as typed.
struct RecordOptions {
  using Text = std::optional<std::string>;

  Text seconds;
  Text device;
  Text rate;
  Text channels;
  bool as_float{};
  Text countdown;
  Text start_level;
  bool monitor{};
  Text monitor_device;
};

/// Registers them with a command; `options` must outlive it.
void describe_record_options(CLI::App& command, RecordOptions& options);

/// What to record of `take` into the case, from one of the devices there are. Throws Error.
RecordOrder record_order(const RecordOptions& options, const std::string& folder, Take take,
                         bool make_point, const std::vector<SoundDevice>& devices);

}  // namespace howl
