#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"

namespace howl {

/// What a person says of a take, as typed on the command line or in the window; only what was given
/// is set. Errors of these functions name the option ("--rpm 1800,5") in where(), by which the
/// window finds the field.
struct TypedTake {
  using Text = std::optional<std::string>;

  std::string point;
  bool new_point{};         ///< the point is to be made
  Text rpm;                 ///< rpm, 0 for an engine that stands still
  Text ramp;                ///< "s:rpm,s:rpm …"
  Text log;                 ///< a file
  bool log_possible{true};  ///< whether the command takes a log
  Text tacho_channel;       ///< from 1
  Text pulses_per_revolution;
  bool from_sound{};
  Text near;                      ///< rpm, with from_sound
  Text channel;                   ///< the probe's, from 1
  Text reference_channel;         ///< from 1
  std::vector<std::string> load;  ///< "test=state" each
  Text road_speed;                ///< km/h
  bool background{};              ///< the suspect does not work
  std::string note;
  friend bool operator==(const TypedTake&, const TypedTake&) = default;
};

/// The take that they describe, without its recording. Throws Error (command fault).
Take take_of(const TypedTake& typed);

/// How take_of() would have to be told a take, for one to be changed. A log has no name: it is in
/// the case already.
TypedTake typed_take_of(const Take& take);

/// What add_take() is asked for. Throws Error (command fault).
NewTake new_take_of(const std::filesystem::path& recording, const TypedTake& typed);

/// What change_take() is asked for. A log without a name is the one that the take has. Throws Error
/// (command fault).
NewTake facts_of(const TypedTake& typed);

/// Says that none of the `known` probe points has that name; `more` ends the remedy.
Error no_such_point(const std::string& point, const std::vector<std::string>& known,
                    const std::string& more = {});

/// Makes sure that there is the probe point, or is to be one under a name that is new. Throws Error
/// (command fault).
void require_point(const std::vector<ProbePoint>& points, const TypedTake& typed);

}  // namespace howl
