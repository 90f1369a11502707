#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/errors.h"

namespace CLI {
class App;
}

namespace howl {

/// What the user says of a take, as typed; only what was given is set.
struct TakeOptions {
  using Text = std::optional<std::string>;

  std::string point;
  bool new_point{};
  Text rpm;
  Text ramp;
  Text log;
  bool log_possible{true};  ///< whether the command takes a log
  Text tacho_channel;
  Text pulses_per_revolution;
  bool from_sound{};
  Text near;
  Text channel;
  Text reference_channel;
  std::vector<std::string> load;
  Text road_speed;
  bool background{};
  std::string note;
};

/// Registers them with a command; `options` must outlive it.
void describe_point_options(CLI::App& command, TakeOptions& options);
/// `with_log`: a speed log can be given.
void describe_speed_options(CLI::App& command, TakeOptions& options, bool with_log);
void describe_other_take_options(CLI::App& command, TakeOptions& options);

/// The take that they describe, without its recording. Throws Error (command fault).
Take take_of(const TakeOptions& options);

/// Says that none of the `known` probe points has that name; `more` ends the remedy.
Error no_such_point(const std::string& point, const std::vector<std::string>& known,
                    const std::string& more = {});

/// Makes sure that the case has the probe point, or is to get it under a name that is new. Throws
/// Error (command fault).
void require_point(const std::filesystem::path& folder, const TakeOptions& options);

}  // namespace howl
