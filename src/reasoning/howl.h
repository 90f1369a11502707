#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

/// A howl as the reasoning sees it: what was observed, each observation once, with its error. All
/// of it is drawn from an Analysis; nothing here knows a profile.
struct Howl {
  /// How much better each law explains the pitch than their mean does: marginal likelihood over
  /// that of all laws together, each counted alike. All 1 where the speed did not change.
  struct LawSupport {
    double fixed{1.0};
    double locked{1.0};
    double belt{1.0};
    double road{1.0};
    double free{1.0};
  };
  struct PointLevel {
    std::string point;
    double loudest{};   ///< probability that it is the loudest
    double level_db{};  ///< only differences between points count: the ranking's, or the tone's
    double sigma_db{};  ///< standard error of `level_db`, one probe placement included
    bool at_most{};     ///< the level is `level_db` or less
  };
  struct Blows {
    LogEstimate order;
    int harmonics{};
  };

  std::string id;     ///< "tone1", or a family's "A"
  std::string words;  ///< "order 10.00, speed-locked"
  LawSupport laws;
  bool pitch_settled{};  ///< the analysis found a behaviour
  bool in_one_gear{};    ///< which may be the engine's or the road's: they ran in step
  /// Takes whose sound contradicts their speed (contradicted_takes): then the pitch says nothing of
  /// order or law, and neither is given here.
  std::vector<std::string> wrong_speeds;
  bool speed_varied{};    ///< it was heard at speeds that differ enough to tell laws apart
  bool heard_standing{};  ///< while the vehicle stood
  bool prominent{};       ///< by the ECMA-418-1 criterion
  bool firing{};          ///< at a firing order: the engine makes it too
  bool swells{};          ///< a firing order that is far louder at one pitch, `hertz`
  /// Of its family's base, or of another tone at half or a third of its pitch; the pitches below
  /// are the base's.
  int harmonic{1};
  std::optional<LogEstimate> order;  ///< if it follows the engine
  std::optional<LogEstimate> cycles_per_metre;
  std::optional<LogEstimate> hertz;
  std::optional<bool> second_harmonic;  ///< none: it is not known
  std::optional<LogEstimate> sideband_order;
  bool tone{true};    ///< false: nothing but blows is heard
  double level_db{};  ///< of the tone at the take where it is loudest, dB re full-scale sine
  std::vector<PointLevel> points;  ///< of the ranking; empty where points cannot be told apart
  std::vector<LoadChange> loads;
  std::optional<Blows> blows;
};

/// The howl that the suspect band holds; where it holds none, the most certain blows. None where
/// neither is found.
std::optional<Howl> observed_howl(const Analysis& analysis);

/// The prominent howls of an analysis, a family once, loudest first, twelve at most: their pitch
/// and their levels by point (from the takes in which they were followed), no load tests, no blows.
/// What may be combustion, and half orders between the whole ones, are taken for the engine's:
/// every engine makes those.
std::vector<Howl> prominent_howls(const Analysis& analysis);

/// Whether a howl may as well be the second, third or fourth harmonic of another: at that multiple
/// within 0.5 %, in orders or, where a pitch is not settled, in hertz, and no stronger; or another
/// harmonic of one base; or swells at the same pitch. Three lines or fewer do not make a family
/// that chance would not make too, but a line that another explains is no howl of its own.
bool may_be_harmonic_of(const Howl& other, const Howl& howl);

}  // namespace howl
