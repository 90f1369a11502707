#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// A number known within limits, `low` ≤ `high`; equal where it is known exactly.
using Spread = Interval;

/// How fast the shaft (or field, or tyre) turns that makes a source's sound.
struct CrankTurning {  ///< by hub, chain or gears: turns per crank turn, without slip
  Spread ratio{1.0, 1.0};
};
struct BeltTurning {  ///< turns per crank turn without slip, and the share that the belt loses
  Spread ratio{};
  Spread slip{0.0, 0.02};
};
struct RoadTurning {  ///< turns per metre that the vehicle travels
  Spread turns_per_metre{};
};
struct FreeTurning {            ///< a motor or turbine of its own: tied neither to engine nor road
  std::optional<Spread> hertz;  ///< of its tone, where known
};
struct Ringing {  ///< a part that resonates: keeps its pitch, whatever excites it
  std::optional<Spread> hertz;
};
using Turning = std::variant<CrankTurning, BeltTurning, RoadTurning, FreeTurning, Ringing>;

/// What a source makes each time its shaft turns once: one line a turn of vanes, teeth, lobes,
/// blades …, or a bearing's defect rate. Ranges of whole numbers count each number in them as
/// equally likely.
struct Makes {
  std::string what;      ///< "vanes", "outer race, 8 elements"; a number of them goes before it
  Spread per_turn{};     ///< cycles per turn of the shaft
  bool whole_numbers{};  ///< only whole numbers within `per_turn` occur
  std::optional<Spread> mate{};  ///< teeth of the gear that meshes with the one that is counted
  bool gerotor{};                ///< meshes with an outer rotor of one lobe more
  /// Turns, per turn of the source's own shaft, of others that take part: a carrier's, a planet's.
  std::vector<Spread> other_shafts{};
  double share{1.0};  ///< how likely this one is among what the source makes
};

/// What happens to a source's sound when a load test is done.
enum class Reaction { louder, quieter, starts, stops, same, unknown };
std::string_view reaction_name(Reaction reaction);  ///< "louder" …

/// A fault that makes the source howl, with what mends it.
struct Cause {
  std::string id;  ///< what workshop facts refer to: "transmission fluid low"
  double share{};  ///< of this source's howls, before anything is known; all sum to 1
  std::string repair;
  double hours{};       ///< what the repair costs, parts turned into hours of work; > 0
  bool irreversible{};  ///< cannot be undone, or is dear: to be proven first
};

/// A component that can make noise. One component may hold several sources: an alternator's
/// ripple, and its bearings.
struct Source {
  std::string name;       ///< "steering pump vanes"; unique in a profile
  std::string component;  ///< "steering pump"
  std::string kind;       ///< of source-kinds.toml
  Turning turning;
  std::vector<Makes> makes;  ///< empty: not known, any number is as likely as another
  /// By key of a load test (load_tests.h); a test that is not in it: unknown.
  std::map<std::string, Reaction> reacts;
  /// How much weaker than at its best point it arrives at others, dB ≥ 0, as far as known. A probe
  /// point that is not in it lies `elsewhere_db` below.
  std::map<std::string, double> below_db;
  double elsewhere_db{15.0};
  double how_often{1.0};  ///< in relation to other sources of the profile: common practice
  /// Chance that a howl shows a second harmonic; that its lines have sidebands one shaft turn away.
  double chance_of_harmonics{0.5};
  double chance_of_sidebands{0.2};
  bool strikes{};  ///< makes blows, as a bearing's flaw does, which a band of high sound shows
  std::vector<Cause> causes;
};

}  // namespace howl
