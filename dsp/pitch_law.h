#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// How a tone's pitch behaves when engine speed changes.
enum class Behaviour { speed_locked, road_locked, fixed_pitch, unlocked, undetermined };
/// For a speed-locked tone: constant order, order that drifts as a slipping belt's does, or
/// unsettled; or the speed that it is locked to may as well be the road's, because engine and road
/// ran in step (one gear) wherever it was heard.
enum class Drive { direct, belt, unknown, engine_or_road };

std::string_view behaviour_name(Behaviour behaviour);  ///< "speed-locked" …
std::string_view drive_name(Drive drive);              ///< "direct" …

/// One sighting of a tone.
struct PitchPoint {
  double time{};  ///< s into the take
  double frequency_hz{};
  double sigma_hz{};  ///< measurement error of the frequency, one standard deviation
  double rpm{};
  double speed_sigma{};  ///< relative error of the speed that the whole take shares
  double speed_rate{};   ///< d ln n/dt, 1/s: turns a time lag of the speed record into an error
  double lag_sigma{};    ///< s: how far the speed record may lag the audio
  std::optional<double> road_speed_kmh;  ///< 0: the vehicle stood still
  /// The vehicle may have moved at a road speed that nobody wrote down.
  bool motion_unknown{};
  std::size_t take{};  ///< points with the same number share the speed's errors
};

/// The laws that compete. In ln f against ln n: f = c; f = o·n/60; the same with extra scatter as a
/// slipping belt has; f ~ road speed; f = c·n^b with any b and scatter.
enum class Law { fixed, locked, belt, road, free };
std::string_view law_name(Law law);

struct PitchLawParameters {
  /// The best behaviour must be this many times as probable as all others together.
  double odds{20.0};
  /// Fastest over slowest speed below which nothing is said.
  double least_speed_ratio{1.15};
  /// Distinct stations (speeds) below which nothing is said.
  std::size_t fewest_stations{3};
  /// Stations that one take's points are condensed to at most.
  std::size_t stations_a_take{12};
  /// Sum of the laws' prior weights is 1; road counts only where road speed is known.
  double prior_locked{0.2};
  double prior_belt{0.2};
  double prior_fixed{0.25};
  double prior_road{0.15};
  double prior_free{0.2};
};

/// Why a verdict is `undetermined`, or `none`.
enum class PitchDoubt {
  none,
  too_few_points,            ///< fewer stations than asked for
  too_little_change,         ///< the speed hardly changed
  laws_too_close,            ///< two behaviours explain the points about equally well
  road_and_engine_together,  ///< road and engine speed changed in step, or road speed is not known;
                             ///< also of a speed-locked tone whose drive is `engine_or_road`
};

struct LawFit {
  Law law{};
  double weight{};    ///< posterior weight, 0 … 1
  double exponent{};  ///< of f ~ n^exponent (0 fixed, 1 locked; road: 0, against road speed)
  double reference_rpm{};
  double frequency_hz{};  ///< at the reference speed
  /// Where the law itself lies, not single sightings, which scatter about it: 95 % of what its
  /// constant may be, the speed's errors included where it leans on a speed, and of its exponent,
  /// of the free law alone.
  Interval frequency_ci95{};
  std::optional<Interval> exponent_ci95;
};

struct PitchVerdict {
  Behaviour behaviour{Behaviour::undetermined};
  Drive drive{Drive::unknown};
  PitchDoubt doubt{PitchDoubt::none};
  std::optional<double> exponent;
  std::optional<Interval> exponent_ci95;
  std::optional<double> order;         ///< mean order; of use where the tone is or may be locked
  std::optional<Interval> order_ci95;  ///< includes the error of the speed itself
  double scatter{};                    ///< most probable scatter of ln f about the locked law
  std::vector<LawFit> laws;            ///< heaviest first
  std::size_t stations{};
  double speed_ratio{1.0};
  bool in_one_gear{};  ///< engine and road ran in step, so that one law is as good as the other
};

/// Fits every law by its marginal likelihood (constant, scatter and exponent integrated over their
/// priors; Kass and Raftery 1995, JASA 90, 773–795) and compares. Neighbouring points of one take
/// are condensed to stations first, because their errors are not independent.
///
/// What wanders goes on from where it is: scatter about the free law is either independent from
/// station to station, or moves smoothly in time (Matérn 3/2 over 3 or 10 s; Rasmussen and Williams
/// 2006, Gaussian Processes for Machine Learning, Eq. 4.17), so that a pitch that was followed
/// briefly does not pass for one that stands.
///
/// Speed errors enter as covariance: one shared relative error a take, and a time lag of the speed
/// record, which acts like a slip in proportion to the ramp rate. Needs frequency, sigma and rpm >
/// 0; points that are not are passed over.
///
/// Points whose motion is unknown can show a fixed pitch; speed-locked, road-locked and unlocked
/// are then said only if the other points say so by themselves. Where those were driven in one
/// gear, the points are taken for that gear's. A tone heard while the vehicle stands is not
/// road-locked. `unlocked` also needs an exponent whose interval leaves 1 out, because a locked
/// tone that is followed badly scatters as well. `fixed_pitch` needs single points that scatter by
/// less than 0.7 %, because the means of a pitch that wanders can stand still, and more than 3 s
/// where one take shows it all: such a pitch is followed best where it turns back.
///
/// Where takes fall into two groups of one order each, with a gap between them that neither their
/// own width nor their errors explain (two tones taken for one, or a slip that changed with the
/// load), the interval of the order covers both, and the drive is not settled.
///
/// A law must have seen move what it says the tone does not follow: fixed needs changes of engine
/// and (on the road) of road speed, locked and road-locked a change of gear, each by
/// `least_speed_ratio`. Without a change of gear both are one: speed-locked, `engine_or_road`, with
/// the order that it has in that gear.
///
/// `behaviour` other than undetermined: its laws hold odds/(1+odds) of the weight. `drive` direct:
/// the same share for a whole-number order without belt scatter, against other constant orders (as
/// likely beforehand, per unit of order) and the belt; in effect an order known to about ±0.02,
/// which takes a tacho or many holds. Belt: the same share for belt scatter. In one gear the road
/// has a share too.
PitchVerdict judge_pitch(std::span<const PitchPoint> points,
                         const PitchLawParameters& parameters = {});

}  // namespace howl
