#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/synth.h"
#include "src/audio/sound_writer.h"
#include "src/case/case.h"

namespace howl {

/// An invented vehicle with an invented fault, and the takes somebody records on it. Data, not
/// code: read from samples-demo/<name>.toml, whose keys carry the same names.
///
/// Levels are dB re full-scale sine, at the point where the source is loudest and at 1500 rpm;
/// `below_db` says for each probe point how much weaker the source arrives there.
using BelowByPoint = std::map<std::string, double>;

/// How a source's pitch is tied to the vehicle. The file's `kind` names the alternative.
struct CrankDrive {  ///< "crank": turned by the crankshaft itself
  double order{};
};
struct BeltDrive {  ///< "belt": turned by a belt that slips
  double ratio{};
  double
      per_turn{};  ///< cycles a turn of the pulley: vanes, poles, or a bearing's passing frequency
  BeltSlip slip;
};
struct RoadDrive {  ///< "road": turned by the wheels
  double cycles_per_metre{};
};
struct FixedPitch {  ///< "fixed": a pitch of its own
  double frequency_hz{};
  double wander{};  ///< relative standard deviation
};
struct FreePitch {  ///< "free": a pitch that wanders for reasons of its own
  double frequency_hz{};
  double wander{};
  double correlation_s{};
};
struct Resonance {  ///< "resonance": rings where combustion and noise excite it
  double frequency_hz{};
  double damping{};
  double gain_db{};   ///< of what combustion excites on resonance; takes the place of level_db
  double noise_db{};  ///< rms of the noise that excites it too, dB re full-scale sine
};
struct NoiseBand {  ///< "noise": broadband, about one frequency
  double frequency_hz{};
  double damping{};
  double flutter_db{};  ///< standard deviation of its slow swings in level
};
using SourceKind =
    std::variant<CrankDrive, BeltDrive, RoadDrive, FixedPitch, FreePitch, Resonance, NoiseBand>;

/// What strikes once a cycle of a source's pitch, and rings: a rolling element at a flaw.
struct Blows {
  double level_db{};  ///< mean power of the ringing, relative to the source's level
  double ring_hz{};   ///< of what is struck
  double damping{};
};

/// What a load state does to a source; holds while the take's load agrees in every key.
struct LoadEffect {
  LoadState load;
  double level_db{};
  double slip{};  ///< added to a belt's slip fraction
};

struct RecipeSource {
  std::string name;
  SourceKind kind;
  double level_db{};
  std::vector<double> harmonics_db{0.0};             ///< relative to level_db, the base first
  std::optional<ToneFamily::Modulation> modulation;  ///< per turn of the pulley, or of the crank
  std::optional<Blows> blows;                        ///< not of a resonance or of noise
  double db_per_doubling{};                          ///< of engine speed
  BelowByPoint below_db;
  std::vector<LoadEffect> effects;
};

struct RecipeEngine {
  Combustion lines;  ///< amplitude unused: level_db stands for it
  double level_db{};
  double db_per_doubling{};
  BelowByPoint below_db;
};

struct RecipeBackground {
  double level_db{};    ///< rms of pink noise
  double clatter_db{};  ///< rms of valve and injector noise at the height of each of its bursts
  double db_per_doubling{};
  BelowByPoint below_db;
};

/// The microphone, the cable and the hand that holds it.
struct RecipeRecording {
  double hand_pressure_sd_db{1.5};
  double sensor_resonance_hz{6000.0};
  double sensor_damping{0.02};
  double self_noise_db{-90.0};
  std::optional<double> hum_hz;
  double hum_db{-75.0};
  double speed_jitter{0.002};   ///< of the engine, relative standard deviation
  double reading_error{0.003};  ///< of an entered speed, relative standard deviation
};

enum class SpeedWritten { entered, log, tacho };

/// One or more takes that differ in point and repeat only.
struct RecipeTakes {
  std::vector<std::string> points;
  std::vector<SpeedPoint> speed;  ///< one point: a hold
  double seconds{};
  int repeats{1};
  SpeedWritten written{SpeedWritten::entered};
  double pulses_per_revolution{1.0};
  LoadState load;
  std::optional<double> road_speed_kmh;
  double gain_db{};   ///< set too high, the take clips
  bool background{};  ///< the source at fault does not work meanwhile
  double howl_db{};   ///< by how much the source at fault is louder than usual meanwhile
  struct Dropout {
    double start_s{};
    double length_s{};
  };
  std::optional<Dropout> dropout;
  std::string note;
};

struct Recipe {
  std::string name;
  std::string title;
  std::string profile;
  std::string complaint;
  std::uint64_t seed{};
  /// Which visit to the vehicle: the engine stays the same, nothing random in a recording does.
  std::uint64_t visit{};
  double sample_rate{};
  SoundFormat format{SoundFormat::wav24};

  struct Truth {
    std::string source;  ///< name of the source that is at fault
    std::string component;
    std::string fault;
    std::string suspect{};  ///< what the profile calls that source; empty: the profile lacks it
    bool repaired{};        ///< the fault was mended before these takes were made
  } truth;

  /// What was done about it, where the recipe also gives a case after the repair.
  struct Repair {
    std::string title;
    double level_db{};  ///< of the source at fault, from then on
    double speed{1.0};  ///< nobody meets the same engine speed twice: factor on all speeds
  };
  std::optional<Repair> repair;

  RecipeEngine engine;
  RecipeBackground background;
  RecipeRecording recording;
  /// Name of the probe point beside which a second microphone stays, on channel 2 of every take.
  std::optional<std::string> reference_point;
  std::vector<ProbePoint> points;
  std::vector<RecipeSource> sources;
  std::vector<RecipeTakes> takes;

  const RecipeSource& culprit() const;
};

/// Reads a recipe. Throws Error (file fault) that names the recipe, line and key.
Recipe parse_recipe(std::string_view toml, std::string_view name);

/// The same vehicle after its repair, recorded anew: "<name>-repaired". None where the recipe has
/// no repair.
std::optional<Recipe> repaired(const Recipe& recipe);

/// The recipes built into the program, sorted by name.
std::vector<Recipe> embedded_recipes();

}  // namespace howl
