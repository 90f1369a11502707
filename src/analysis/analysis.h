#pragma once

#include <optional>
#include <string>
#include <vector>

#include "dsp/pitch_law.h"
#include "dsp/statistics.h"
#include "src/analysis/quality.h"
#include "src/analysis/verdict.h"
#include "src/case/case.h"

namespace howl {

/// What the user asks for; everything else follows from the case.
struct AnalysisRequest {
  struct Band {
    enum class Unit { hertz, order } unit{};
    Interval range{};
  };
  std::optional<Band> band;  ///< none: the tool proposes one
};

/// The reference microphone during one take. Levels re full-scale sine, in the suspect band.
struct ReferenceResult {
  std::optional<double> level_db;
  std::optional<double> correction_db;  ///< added to the probe's level; none: not corrected
  std::optional<double> coherence;      ///< part of the probe's energy there that it hears too
  std::optional<double> delay_s;        ///< of the probe behind it; none where not unique
};

/// What the sound itself says of the engine's speed.
struct SoundSpeed {
  struct Hypothesis {
    double rpm{};
    double probability{};
  };
  std::optional<double> rpm;  ///< mean over the take; none: the sound does not settle it
  std::optional<Interval> rpm_ci95;
  std::optional<double> disagreement_percent;  ///< of the sound against the take's speed
  std::vector<Hypothesis> hypotheses;          ///< likeliest first
  /// The speed at one moment; eight a second.
  struct Moment {
    double time_s{};  ///< into the take
    double rpm{};
    Interval ci95;  ///< rpm
  };
  std::vector<Moment> track;  ///< empty where the sound does not settle it
};

/// How far a log ran behind the sound, taken out of its speed.
struct SpeedLag {
  double seconds{};
  double ci95{};  ///< half width
};

struct TakeResult {
  std::string id;
  std::string point;
  LoadState load;
  std::string speed_source;  ///< "entered", "logged", "tacho", "sound", "engine off"
  double rpm_min{};          ///< 0 with the engine off
  double rpm_max{};
  std::optional<Interval> road_kmh{};  ///< slowest and fastest; none: not known
  double seconds{};
  std::vector<std::string> warnings;      ///< all but those of its quality
  std::vector<QualityFinding> quality{};  ///< worst first
  bool engine_off{};
  bool background{};  ///< the suspect did not work: not searched for howls and not ranked
  std::optional<ReferenceResult> reference{};
  SoundSpeed sound_speed{};
  std::optional<SpeedLag> lag{};  ///< none: not from a log, or not clear
};

/// A point of a tone's track, for the picture of pitch against speed.
struct TrackPoint {
  double time_s{};  ///< into the take
  double rpm{};
  double frequency_hz{};
  double sigma_hz{};
  std::string take;
  double level_db{};
};

/// A value with its standard deviation, which is relative: of its natural logarithm.
struct LogEstimate {
  double value{};
  double log_sigma{};
};

/// One law fitted to a track, for the same picture.
struct FittedLaw {
  std::string name;  ///< "locked", "belt", "fixed", "road", "free"
  double weight{};   ///< posterior weight among the laws, 0 … 1
  double reference_rpm{};
  double frequency_at_reference_hz{};
  double exponent{};  ///< f ~ n^exponent
  /// 95 %: where the law itself lies; single sightings scatter about it. The exponent's, of "free".
  Interval frequency_at_reference_ci95_hz{};
  std::optional<Interval> exponent_ci95{};
};

/// That a tone is a line beside another.
struct SidebandPart {
  std::string carrier;  ///< id of the tone
  int number{};         ///< −1: the first one below
};

struct ToneResult {
  std::string id;  ///< "tone1"
  std::optional<double> order;
  std::optional<Interval> order_ci95;
  /// What its order, and its cycles per metre on the road, would be if it followed engine or road;
  /// an interval includes the error of the speed. None: no speed there to say so.
  std::optional<LogEstimate> order_if_locked{};
  std::optional<LogEstimate> cycles_per_metre_if_locked{};
  bool heard_standing{};  ///< in a take in which the vehicle stood
  Interval frequency_hz;
  Behaviour behaviour{Behaviour::undetermined};
  Drive drive{Drive::unknown};
  std::optional<double> pitch_exponent;
  std::optional<Interval> pitch_exponent_ci95;
  Interval rpm_span;
  double level_db{};                     ///< dB re full-scale sine, at the take where it is loudest
  double typical_level_db{};             ///< median over the speeds at which it was seen
  double tone_to_noise_db{};             ///< largest over the takes
  bool prominent{};                      ///< ECMA-418-1 tone-to-noise criterion
  std::optional<std::string> family;     ///< its id; "firing" for combustion
  std::optional<SidebandPart> sideband;  ///< none too where the carrier is not heard
  bool combustion{};                     ///< belongs to the engine's firing orders
  /// Would be one of them if it follows the engine, which it was not heard at enough speeds to say;
  /// or is prominent, but a half order no stronger than the row of them.
  bool maybe_combustion{};
  /// Pitch at which a firing order is far louder than the others at the speed of some holds, though
  /// not at all speeds: something may resonate there. It then is no combustion.
  std::optional<double> swells_at_hz{};
  /// Where the true level lies, as far as clipping and a probe above its range leave that open.
  std::optional<Interval> level_bounds_db;
  bool above_probe_range{};  ///< reaches above 2 kHz
  /// The tone of which clipping may have made this one.
  std::optional<std::string> clipping_product_of;
  std::vector<std::string> takes;
  std::string advice;  ///< what to record to settle an undetermined tone; else empty
  std::string remark;  ///< what else is worth knowing of it; mostly empty
  std::vector<TrackPoint> track;
  std::vector<FittedLaw> laws;
};

/// Tones that belong together: harmonics of one base, sidebands of one spacing, or both.
struct FamilyResult {
  enum class Unit { order, hertz, cycles_per_metre };
  struct Member {
    std::string tone;
    int harmonic{1};
    int sideband{0};  ///< 0: the harmonic itself; −1: the first line below it
  };
  std::string id;  ///< "A"
  Unit unit{};
  double base{};
  std::optional<Interval> base_ci95;  ///< none where the pitch wanders
  std::optional<double> spacing;      ///< of sidebands, in the same unit
  std::optional<Interval> spacing_ci95;
  /// Of the strongest carrier with a sideband on either side: index of the amplitude modulation
  /// that would give their levels. Levels cannot tell it from phase modulation.
  std::optional<double> modulation_depth;
  std::optional<Interval> modulation_depth_ci95;
  std::optional<double> sideband_asymmetry_db;  ///< upper over lower
  std::vector<Member> members;                  ///< by harmonic, then sideband
  bool carrier_heard{true};
  /// Upper bound on the chance that unrelated tones would give such a family.
  double false_alarm{};
  double level_db{};                ///< of all members together
  std::optional<std::string> take;  ///< where one take only shows that they belong together
};

/// What one load test did to the howl in the suspect band: loaded takes less base takes at the same
/// points and like speeds. Changes in dB, the noise in the band taken off.
struct LoadChange {
  std::string test;                 ///< key of the load test
  std::vector<std::string> points;  ///< where it was done
  std::vector<std::string> takes_base;
  std::vector<std::string> takes_loaded;
  std::optional<double> change_db;  ///< none where the howl is heard in one state at most
  std::optional<double> low_db;     ///< 95 %; an end is missing where it is not known
  std::optional<double> high_db;
  std::optional<LogEstimate> order_ratio;  ///< order loaded over order in the base state
};

/// Something that strikes, or makes a band of sound swell, at an order which the engine's own cycle
/// does not have. Its order inherits the error of the takes' speeds; the interval says so.
struct ImpactResult {
  std::string id;  ///< "impact1"
  std::vector<std::string> takes;
  Interval band_hz;            ///< where it was found, by spectral kurtosis
  double spectral_kurtosis{};  ///< there; 0 for steady noise
  double order{};              ///< of the blows
  Interval order_ci95;
  Interval frequency_hz;  ///< of the blows, at the speeds of the takes
  Interval rpm_span;
  int harmonics{};  ///< multiples of the order that stand out, itself among them
  std::optional<double> sideband_order;  ///< how often the blows themselves come and go
  double modulation_depth{};             ///< as amplitude modulation 1 + m·cos; 0 … 1
  double false_alarm_probability{};  ///< of noise making its strongest line in any take, anywhere
  bool spacing_in_cepstrum{};        ///< the cepstrum shows a family with this spacing, too
  std::optional<std::string> tone;   ///< a tone of the same order
  std::string meaning;
  std::string advice;  ///< what would settle it
};

struct SuspectBand {
  AnalysisRequest::Band band;
  bool chosen_by_user{};
  std::string why;  ///< one sentence
};

/// How surely a point is louder than the next (for the loudest), or quieter than the loudest.
enum class Call { clear, likely, maybe, no_difference };
std::string_view call_name(Call call);

struct RankedPoint {
  std::string point;
  std::optional<double> level_db;
  std::optional<Interval> ci95_db;
  std::optional<double> below_loudest_db;  ///< 0 for the loudest
  std::optional<Interval> below_loudest_ci95_db;
  std::optional<double> probability_loudest;
  Call call{Call::no_difference};
  std::vector<std::string> takes;
  std::vector<std::string> warnings;
  /// Less than 3 dB over background or an engine's line: at most `level_db`, never called louder.
  bool upper_bound{};
  std::optional<double> coherent_level_db{};  ///< of what the reference microphone hears too
};

/// Everything that window, command line and report show. Lists are sorted, most important first.
struct Analysis {
  std::vector<TakeResult> takes;
  std::vector<ToneResult> tones;
  std::vector<FamilyResult> families;  ///< in the order of their first tones
  std::vector<ImpactResult> impacts;
  std::optional<SuspectBand> suspect_band;  ///< none: nothing howls, nothing to rank
  std::vector<RankedPoint> ranking;
  std::vector<LoadChange> load_changes{};
  Verdict verdict{};  ///< filled in by the reasoning, from all else and the case
  std::string level_reference{"dB re full-scale sine"};
  std::string cylinder_doubt;  ///< doubt_of_cylinders(); among the warnings too
  std::vector<std::string> warnings;
  std::vector<std::string> cautions;
};

}  // namespace howl
