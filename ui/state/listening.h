#pragma once

#include <array>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "src/listen/player.h"
#include "src/listen/render.h"
#include "ui/jobs/jobs.h"
#include "ui/state/intentions.h"

namespace howl::desk {

struct DeskState;

// Volume, dB against the sound as it was recorded.
inline constexpr double kSoftest = -60;
inline constexpr double kLoudest = 24;
inline constexpr double kVolumeStep = 3;

/// What is listened to, and how. Chosen by somebody, but for the last part.
struct ListenState {
  Heard heard{Heard::take};
  int slowness{1};
  bool loop{true};
  std::optional<std::string> other;  ///< the take to switch to and fro with
  bool on_other{};                   ///< it is that which is heard
  bool matched{true};                ///< equal in the suspect band; else as loud as recorded

  bool wanted{};      ///< somebody wants to hear something
  bool playing{};     ///< something can be heard
  bool waits{};       ///< for what is still being prepared
  double prepared{};  ///< of what is heard, 0 … 1
  std::string playing_take;
  Interval range_s;                ///< of the take that is played
  bool shortened{};                ///< more is shown than is prepared at once
  std::optional<double> at_s;      ///< where in the take, while it plays
  std::optional<double> match_db;  ///< what the other take is raised by, to match
  bool held_down{};                ///< kept below what is safe
  std::string fault;               ///< why nothing is heard
  std::string remedy;
};

/// The order or pitch that 'tone alone' means: the line that is dragged, else the picked tone.
struct ToneToHear {
  IsolateRequest request;
  std::string words;  ///< "order 10.00", "480 Hz"; no figure while the answer is hidden
};
std::optional<ToneToHear> tone_to_hear(const DeskState& state);

/// Takes of other points at the speed of the picked one, which can be switched to.
std::vector<std::string> takes_at_same_speed(const DeskState& state);

/// What can be heard of the picked take, and what comes after what is heard now.
bool can_hear(const DeskState& state, Heard heard);
Heard next_to_hear(const DeskState& state);

/// What is heard now, in words: "order 10.00 alone, at half speed".
std::string heard_words(const DeskState& state);
/// The same while it plays, with which part of the take it is and how loud the other point is.
std::string playing_words(const DeskState& state);

/// Prepares in jobs what is wanted, and plays it. In the window's thread.
class Listening {
 public:
  explicit Listening(OpenSoundSystem open);

  /// Prepares what `state` wants and plays it, from its beginning, or at the place where something
  /// else plays now.
  void hear(DeskState& state, Jobs& jobs);
  /// What was chosen has changed; if something plays, it goes on with that.
  void go_on(DeskState& state, Jobs& jobs);
  void stop(ListenState& state, Jobs& jobs);
  void seek(const ListenState& state, double take_seconds);
  /// To the other take and back, at once where both are prepared.
  void switch_sides(DeskState& state, Jobs& jobs);
  void set_match(const ListenState& state);
  void set_loop(bool on) { player_->loop(on); }
  void set_volume(double db) { player_->volume(Decibel(db)); }
  /// Looks what became of it since.
  void follow(DeskState& state);

  /// For whoever needs the devices: waits until they are free. Safe in any thread.
  std::function<void()> freeing() const {
    return [player = player_] { player->close_device(); };
  }

 private:
  struct Wanted;
  struct Turn;
  using SoundPointer = std::shared_ptr<PreparedSound>;

  static std::optional<Wanted> wanted_of(DeskState& state);
  static void prepare(const Wanted& wanted, Player& player, Turn& turn, JobContext& context);

  std::shared_ptr<Player> player_;
  std::shared_ptr<Turn> turn_;  ///< what the newest job prepares; an older one's is thrown away
  JobId job_{};
};

}  // namespace howl::desk
