#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/units.h"

namespace howl {

/// How the speed of a take is known. Channels count from 1.
struct EnteredSpeed {
  Rpm speed;
  friend bool operator==(const EnteredSpeed&, const EnteredSpeed&) = default;
};
struct EnteredRamp {
  std::vector<SpeedPoint> points;
  friend bool operator==(const EnteredRamp&, const EnteredRamp&) = default;
};
struct LoggedSpeed {
  std::string log;  ///< path inside the case folder
  std::string sha256;
  /// The same log, wherever it lies.
  friend bool operator==(const LoggedSpeed& a, const LoggedSpeed& b) {
    return a.sha256 == b.sha256;
  }
};
struct TachoSpeed {
  int channel{};
  double pulses_per_revolution{};
  friend bool operator==(const TachoSpeed&, const TachoSpeed&) = default;
};
/// Found in the sound itself; `near` is what the user believes it to be.
struct SpeedInSound {
  std::optional<Rpm> near;
  friend bool operator==(const SpeedInSound&, const SpeedInSound&) = default;
};
/// The engine stood still, so that only what sounds without it is heard.
struct EngineOff {
  friend bool operator==(const EngineOff&, const EngineOff&) = default;
};
using SpeedSource =
    std::variant<EnteredSpeed, EnteredRamp, LoggedSpeed, TachoSpeed, SpeedInSound, EngineOff>;

/// What was loaded: "steering" -> "left stop", "ac" -> "on" …
using LoadState = std::map<std::string, std::string>;

/// A place on a sketch of the vehicle. As drawn: x from left to right, y from top to bottom, both
/// 0 … 1. Seen from below or above, the vehicle's front is at the top; so the vehicle's left side
/// is on the left from above, on the right from below and from the front.
struct SketchPlace {
  enum class View { below, above, front };
  View view{};
  double x{};
  double y{};
  friend bool operator==(const SketchPlace&, const SketchPlace&) = default;
};

struct ProbePoint {
  std::string name;                    ///< what the user types: "transmission pan"
  std::string description;             ///< where to touch
  std::optional<SketchPlace> place{};  ///< where a sketch shows it, if the profile knows
};

/// A place in a recording where sound was lost while it was made.
struct Overrun {
  Seconds at;  ///< from the start of the recording
  /// How many samples a channel, where that is known: then they are silence in the recording, so
  /// that time stays right. Where the device lost them, the recording is the shorter for it.
  std::optional<std::int64_t> frames;
};

struct Take {
  std::string id;         ///< "t01", unique in the case
  std::string point;      ///< name of a probe point of the case
  std::string recording;  ///< path inside the case folder
  std::string original_name;
  std::string sha256;
  double sample_rate{};  ///< Hz
  std::int64_t frames{};
  int channels{};
  int channel{1};
  std::optional<int> reference_channel;
  SpeedSource speed;
  LoadState load;
  std::optional<double> road_speed_kmh;
  /// The suspect did not work meanwhile: unloaded, belt off, clutch out.
  bool background{};
  std::vector<Overrun> overruns;  ///< of a take that this program recorded; in order of time
  std::string note;
  std::string added;  ///< ISO 8601 date and time, UTC
};

/// Something that was found out in the workshop without a microphone, as it was entered. Whether
/// key and value mean something is for workshop-facts.toml to say, which a shop may change.
struct WorkshopEvidence {
  std::string key;  ///< "fluid-level", unique in the case
  std::string value;
  std::string note;
  std::string added;  ///< ISO 8601 date and time, UTC
};

/// What a report says of the complaint, in the user's own words; empty where nobody entered it.
struct CaseAbout {
  std::string complaint;  ///< may have several lines
  std::string vehicle;
  std::string customer;
  std::string recorded_by;
  std::string recorded_on;  ///< when, as somebody wrote it
  std::string job;          ///< number of the job or claim
};

/// One noise complaint on one vehicle: plain data, as case.json holds it.
struct Case {
  static constexpr int version = 1;

  std::string title;
  std::string profile;
  /// Of profile.toml, the profile as it was when the case was made; cases of before have none.
  std::optional<std::string> profile_sha256;
  std::string created;
  /// Cylinders of a four-stroke engine, where the profile knows; firing order is cylinders/2.
  std::optional<int> cylinders;
  std::vector<ProbePoint> points;
  std::vector<Take> takes;
  std::vector<WorkshopEvidence> evidence;
  CaseAbout about{};
};

/// A case on disk: `<folder>/case.json`, `<folder>/profile.toml`, `<folder>/recordings/…`,
/// `<folder>/logs/…`, as described in case_schema.md. All of these throw Error with a message for
/// the user.
Case load_case(const std::filesystem::path& folder);
/// Atomic: written beside, flushed to disk, renamed. An older file stays whole on any failure.
/// Waits for another program that is writing to the case.
void save_case(const std::filesystem::path& folder, const Case& value);
/// Loads, changes and saves while no other program can write, so that nobody's change is lost.
void update_case(const std::filesystem::path& folder, const std::function<void(Case&)>& change);
/// Makes the folder; fails if it holds a case already. `created` is filled in if it is empty.
/// `profile_toml`, unless it is empty, is kept as profile.toml with its hash, so that what becomes
/// of the profile later does not reach the case.
void create_case(const std::filesystem::path& folder, const Case& value,
                 std::string_view profile_toml = {});

}  // namespace howl
