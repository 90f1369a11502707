#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "src/profile/load_tests.h"
#include "src/record/session_runner.h"
#include "ui/jobs/jobs.h"

namespace howl::desk {

struct DeskState;

/// Where the speed of the takes comes from that the window records.
enum class SpeedKnown { entered, by_sound, engine_off };

/// What to record, and how: what somebody chose, and keeps from take to take.
struct RecordPlan {
  std::optional<std::string> device;  ///< none: the usual one
  std::string point;
  SpeedKnown speed{SpeedKnown::entered};
  double rpm{1500};
  double road_kmh{};  ///< 0: the vehicle stands
  LoadState load;
  bool background{};
  double seconds{10};  ///< 0: until somebody stops it
  double countdown{3};
  bool session{};  ///< all points that are left, one after another, at each of `holds`
  std::vector<double> holds{1500};
  friend bool operator==(const RecordPlan&, const RecordPlan&) = default;
};

inline constexpr double kLeastRpm = 200;
inline constexpr double kMostRpm = 12000;
inline constexpr double kRpmStep = 50;
inline constexpr double kRoadStep = 10;  ///< km/h
inline constexpr double kMostRoad = 250;
inline constexpr std::size_t kMostHolds = 8;

/// A part of the plan that somebody changes; what is not given stays.
struct AdjustPlan {
  std::optional<std::string> device{};  ///< empty: the usual one
  std::optional<std::string> point{};
  std::optional<SpeedKnown> speed{};
  std::optional<double> rpm{};
  std::optional<double> road_kmh{};
  std::optional<std::pair<std::string, std::string>> load{};  ///< an empty value takes it away
  std::optional<bool> background{};
  std::optional<double> seconds{};
  std::optional<double> countdown{};
  std::optional<bool> session{};
  std::optional<double> toggle_hold{};  ///< puts a speed among the holds, or takes it away
};
RecordPlan adjusted(RecordPlan plan, const AdjustPlan& by);
/// What to heed while it records; nothing where the vehicle stands.
std::vector<std::string> cautions_of(const RecordPlan& plan);

/// A device to record from.
struct DeviceChoice {
  std::string name;
  bool usual{};
  int channels{};
};

struct RecordState {
  RecordPlan plan;
  bool takes_shown{};  ///< the list of takes instead of the plan
  bool pad_shown{};    ///< the number pad for the speed
  std::string typed;   ///< on it
  std::vector<DeviceChoice> devices;
  bool devices_known{};
  std::string device_fault;
  std::string device_remedy;
  std::optional<SessionView> running;
  std::optional<std::string> hint;  ///< about the gain, from what is heard
  std::string ended;                ///< what became of the last session; empty: nothing to say
  std::string ended_fault;

  bool has_no_device() const { return devices_known && devices.empty(); }
};

/// Steps that the plan would record now: the one chosen, or all that the case lacks.
std::vector<SessionStep> steps_of(const RecordPlan& plan, const DeskState& state);
/// What there is to say of the signal: "Too quiet", "Good", "Too loud" …, and the remedy.
struct SignalWords {
  enum class Kind { none, quiet, good, loud } kind{};
  std::string_view words;
};
SignalWords signal_words(const MeterReading& meter);
/// The speed that was typed on the number pad; none where no engine has it.
std::optional<double> typed_speed(const std::string& digits);
/// What goes on, as a script writes it: "no", "asking", "beginning", "recording", "judging",
/// "judged".
std::string_view recording_key(const RecordState& record);
/// What goes on, for a person who looks at another step: "recording", "session: 2 of 8"; empty
/// where nothing does.
std::string running_words(const RecordState& record);
/// What a session says, in the window's words: no option of the command line.
SessionView in_window(SessionView session);
/// That it was ended because its case was closed.
std::string ended_words(const SessionView& session);
std::string hold_words(const SpeedSource& speed);  ///< "1 500 rpm", "engine off", "speed by sound"

/// Records in the threads of a SessionRunner. In the window's thread.
class RecordingDesk {
 public:
  explicit RecordingDesk(OpenSoundSystem open) : open_(std::move(open)) {}

  /// `free_devices` is called in the recording's thread before devices are opened.
  void begin(DeskState& state, std::function<void()> free_devices);
  void answer(const ReadyAnswer& answer);
  void stop();
  void judge(VerdictAnswer answer);
  /// Ends what is going on; a take that is not yet judged stays unfinished in the case.
  void break_off(DeskState& state);
  bool running() const { return runner_ != nullptr; }
  /// Looks what became of it since. True if a take was kept since the last time.
  bool follow(DeskState& state);
  /// Asks the system for its devices, in a job.
  void list_devices(DeskState& state, Jobs& jobs, std::function<void()> free_devices) const;

 private:
  OpenSoundSystem open_;
  std::unique_ptr<SessionRunner> runner_;
  std::size_t kept_{};
};

}  // namespace howl::desk
