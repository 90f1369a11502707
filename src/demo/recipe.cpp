#include "src/demo/recipe.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "embedded/demo_recipes.h"
#include "src/files/toml_choice.h"
#include "src/files/toml_reader.h"

namespace howl {

namespace {

constexpr Choices<SoundFormat, 4> kFormats{{{"wav24", SoundFormat::wav24},
                                            {"wav16", SoundFormat::wav16},
                                            {"wav-float", SoundFormat::wav_float},
                                            {"flac", SoundFormat::flac}}};
constexpr Choices<SpeedWritten, 3> kSpeeds{{{"entered", SpeedWritten::entered},
                                            {"log", SpeedWritten::log},
                                            {"tacho", SpeedWritten::tacho}}};
constexpr Interval kPositive{1e-9, 1e9};
constexpr Interval kFraction{0.0, 1.0};
constexpr Interval kDamping{1e-4, 0.9};
constexpr Interval kLevel{-200.0, 40.0};
constexpr Interval kSpeed{100.0, 20000.0};

/// A level below the loudest for every point of the recipe: all of them, and no other.
BelowByPoint read_below(TomlReader& in, const std::vector<ProbePoint>& points) {
  BelowByPoint below = in.number_map("below_db");
  for (const ProbePoint& point : points)
    if (!below.contains(point.name))
      in.fail("below_db", fmt::format("lacks the point \"{}\"", point.name), "add it");
  if (below.size() != points.size())
    in.fail("below_db", "names a point that the recipe has not", "list it under points");
  return below;
}

BeltSlip read_slip(TomlReader in) {
  BeltSlip slip;
  slip.bounds = {in.number("low", kFraction), in.number("high", kFraction)};
  if (slip.bounds.low > slip.bounds.high) in.fail("low", "is above high", "swap them");
  slip.correlation = Seconds(in.number_or("correlation_s", 4.0, kPositive));
  slip.per_1000_rpm = in.number_or("per_1000_rpm", 0.0);
  in.finish();
  return slip;
}

SourceKind read_kind(TomlReader& in) {
  const std::string kind = in.text("kind");
  if (kind == "crank") return CrankDrive{in.number("order", kPositive)};
  if (kind == "belt")
    return BeltDrive{in.number("ratio", kPositive), in.number("per_turn", kPositive),
                     read_slip(in.table("slip"))};
  if (kind == "road") return RoadDrive{in.number("cycles_per_metre", kPositive)};
  if (kind == "fixed")
    return FixedPitch{in.number("frequency_hz", kPositive), in.number_or("wander", 0.0, kFraction)};
  if (kind == "free")
    return FreePitch{in.number("frequency_hz", kPositive), in.number("wander", kFraction),
                     in.number("correlation_s", kPositive)};
  if (kind == "resonance")
    return Resonance{in.number("frequency_hz", kPositive), in.number("damping", kDamping),
                     in.number("gain_db"), in.number("noise_db", kLevel)};
  if (kind == "noise")
    return NoiseBand{in.number("frequency_hz", kPositive), in.number("damping", kDamping),
                     in.number_or("flutter_db", 0.0, {0.0, 20.0})};
  in.fail("kind", fmt::format("is \"{}\"", kind),
          "use crank, belt, road, fixed, free, resonance or noise");
}

std::vector<LoadEffect> read_effects(TomlReader& in) {
  std::vector<LoadEffect> effects;
  for (TomlReader& entry : in.tables("when")) {
    effects.push_back({entry.text_map("load"), entry.number_or("level_db", 0.0),
                       entry.number_or("slip", 0.0, kFraction)});
    entry.finish();
  }
  return effects;
}

std::optional<ToneFamily::Modulation> read_modulation(TomlReader& in) {
  std::optional<TomlReader> table = in.table_if("modulation");
  if (!table) return std::nullopt;
  const ToneFamily::Modulation modulation{table->number_or("per_turn", 1.0, kPositive),
                                          table->number("depth", kFraction)};
  table->finish();
  return modulation;
}

/// What can ring in a recording, and be recorded.
Interval below_half(double sample_rate) { return {1.0, 0.49 * sample_rate}; }

std::optional<Blows> read_blows(TomlReader& in, double sample_rate) {
  std::optional<TomlReader> table = in.table_if("blows");
  if (!table) return std::nullopt;
  const Blows blows{table->number("level_db", {-60.0, 20.0}),
                    table->number("ring_hz", below_half(sample_rate)),
                    table->number_or("damping", 0.03, kDamping)};
  table->finish();
  return blows;
}

RecipeSource read_source(TomlReader in, const Recipe& recipe) {
  RecipeSource source;
  source.name = in.text("name");
  source.kind = read_kind(in);
  if (!std::holds_alternative<Resonance>(source.kind))
    source.level_db = in.number("level_db", kLevel);
  if (in.has("harmonics_db")) source.harmonics_db = in.numbers("harmonics_db");
  if (source.harmonics_db.empty()) in.fail("harmonics_db", "is empty", "give at least the base");
  source.modulation = read_modulation(in);
  source.blows = read_blows(in, recipe.sample_rate);
  source.db_per_doubling = in.number_or("db_per_doubling", 0.0);
  source.below_db = read_below(in, recipe.points);
  source.effects = read_effects(in);
  in.finish();
  return source;
}

RecipeEngine read_engine(TomlReader in, const std::vector<ProbePoint>& points) {
  RecipeEngine engine;
  const double cylinders = in.number("cylinders", {1.0, 16.0});
  if (cylinders != std::floor(cylinders)) in.fail("cylinders", "must be whole", "write 3, 4, 6 …");
  engine.lines.cylinders = static_cast<int>(cylinders);
  engine.lines.fall_db_per_octave = in.number_or("fall_db_per_octave", 9.0);
  engine.lines.cylinder_spread = in.number_or("cylinder_spread", 0.1, kFraction);
  engine.lines.highest_order = in.number_or("highest_order", 40.0, {1.0, 200.0});
  engine.level_db = in.number("level_db", kLevel);
  engine.db_per_doubling = in.number_or("db_per_doubling", 4.0);
  engine.below_db = read_below(in, points);
  in.finish();
  return engine;
}

RecipeBackground read_background(TomlReader in, const std::vector<ProbePoint>& points) {
  RecipeBackground background;
  background.level_db = in.number("level_db", kLevel);
  background.clatter_db = in.number("clatter_db", kLevel);
  background.db_per_doubling = in.number_or("db_per_doubling", 3.0);
  background.below_db = read_below(in, points);
  in.finish();
  return background;
}

RecipeRecording read_recording(std::optional<TomlReader> in, double sample_rate) {
  RecipeRecording recording;
  if (!in) return recording;
  recording.hand_pressure_sd_db =
      in->number_or("hand_pressure_sd_db", recording.hand_pressure_sd_db, {0.0, 20.0});
  recording.sensor_resonance_hz =
      in->number_or("sensor_resonance_hz", recording.sensor_resonance_hz, below_half(sample_rate));
  recording.sensor_damping = in->number_or("sensor_damping", recording.sensor_damping, kDamping);
  recording.self_noise_db = in->number_or("self_noise_db", recording.self_noise_db, kLevel);
  recording.hum_hz = in->number_if("hum_hz", {10.0, 100.0});
  recording.hum_db = in->number_or("hum_db", recording.hum_db, kLevel);
  recording.speed_jitter = in->number_or("speed_jitter", recording.speed_jitter, {0.0, 0.05});
  recording.reading_error = in->number_or("reading_error", recording.reading_error, {0.0, 0.05});
  in->finish();
  return recording;
}

std::vector<SpeedPoint> read_speed(TomlReader& in) {
  if (in.has("hold") == in.has("ramp"))
    in.fail("hold", "or 'ramp' must be there, and not both", "keep one of them");
  if (in.has("hold")) return {{Seconds(0.0), Rpm(in.number("hold", kSpeed))}};
  std::vector<SpeedPoint> ramp;
  for (const std::vector<double>& row : in.rows("ramp")) {
    if (row.size() != 2 || !kSpeed.contains(row[1]) ||
        (ramp.empty() ? row[0] != 0.0 : row[0] <= ramp.back().time.value))
      in.fail("ramp", "is no list of [seconds, rpm] with rising times from 0", "correct it");
    ramp.push_back({Seconds(row[0]), Rpm(row[1])});
  }
  if (ramp.size() < 2) in.fail("ramp", "needs two points or more", "add them, or use hold");
  return ramp;
}

std::optional<std::string> read_reference(TomlReader& in, const Recipe& recipe) {
  if (!in.has("reference_point")) return std::nullopt;
  std::string name = in.text("reference_point");
  if (std::ranges::none_of(recipe.points, [&](const ProbePoint& p) { return p.name == name; }))
    in.fail("reference_point", fmt::format("is \"{}\", which is no point", name), "correct it");
  if (std::ranges::any_of(recipe.takes,
                          [](const RecipeTakes& t) { return t.written == SpeedWritten::tacho; }))
    in.fail("reference_point", "needs the second channel, as a tacho does", "use one of them");
  return name;
}

RecipeTakes read_takes(TomlReader in, const std::vector<ProbePoint>& points) {
  RecipeTakes takes;
  takes.points = in.texts("points");
  for (const std::string& name : takes.points)
    if (std::ranges::none_of(points, [&](const ProbePoint& p) { return p.name == name; }))
      in.fail("points", fmt::format("names \"{}\", which is no point", name), "correct it");
  takes.speed = read_speed(in);
  takes.seconds =
      takes.speed.size() > 1 ? takes.speed.back().time.value : in.number("seconds", {0.5, 120.0});
  takes.repeats = static_cast<int>(in.number_or("repeats", 1.0, {1.0, 20.0}));
  if (in.has("speed")) takes.written = choice(in, "speed", kSpeeds);
  takes.pulses_per_revolution = in.number_or("pulses_per_revolution", 1.0, {0.5, 60.0});
  if (in.has("load")) takes.load = in.text_map("load");
  takes.road_speed_kmh = in.number_if("road_speed_kmh", {0.0, 300.0});
  takes.gain_db = in.number_or("gain_db", 0.0, {-40.0, 40.0});
  takes.background = in.flag_if("background").value_or(false);
  takes.howl_db = in.number_or("howl_db", 0.0, {-40.0, 40.0});
  if (std::optional<TomlReader> dropout = in.table_if("dropout")) {
    takes.dropout = {dropout->number("start_s", {0.0, takes.seconds}),
                     dropout->number("length_s", {0.0, takes.seconds})};
    dropout->finish();
  }
  takes.note = in.text_or("note", "");
  in.finish();
  return takes;
}

std::vector<ProbePoint> read_points(TomlReader& in) {
  std::vector<ProbePoint> points;
  for (TomlReader& entry : in.tables("points")) {
    points.push_back({entry.text("name"), entry.text("where")});
    entry.finish();
  }
  if (points.empty()) in.fail("points", "is missing", "add at least one probe point");
  return points;
}

Recipe::Truth read_truth(TomlReader in, const std::vector<RecipeSource>& sources) {
  Recipe::Truth truth{in.text("source"), in.text("component"), in.text("fault"),
                      in.text_or("suspect", "")};
  if (std::ranges::none_of(sources, [&](const RecipeSource& s) { return s.name == truth.source; }))
    in.fail("source", fmt::format("is \"{}\", which is no source", truth.source), "correct it");
  in.finish();
  return truth;
}

std::optional<Recipe::Repair> read_repair(std::optional<TomlReader> in) {
  if (!in) return std::nullopt;
  const Recipe::Repair repair{in->text("title"), in->number("level_db", kLevel),
                              in->number_or("speed", 1.0, {0.5, 2.0})};
  in->finish();
  return repair;
}

Recipe read_recipe(TomlReader in, std::string_view name) {
  Recipe recipe;
  recipe.name = name;
  recipe.title = in.text("title");
  recipe.profile = in.text("profile");
  recipe.complaint = in.text("complaint");
  recipe.seed = static_cast<std::uint64_t>(in.number("seed", {0.0, 1e9}));
  recipe.sample_rate = in.number("sample_rate", {8000.0, 192000.0});
  if (in.has("format")) recipe.format = choice(in, "format", kFormats);
  recipe.points = read_points(in);
  recipe.engine = read_engine(in.table("engine"), recipe.points);
  recipe.background = read_background(in.table("background"), recipe.points);
  recipe.recording = read_recording(in.table_if("recording"), recipe.sample_rate);
  for (const TomlReader& entry : in.tables("sources"))
    recipe.sources.push_back(read_source(entry, recipe));
  for (const TomlReader& entry : in.tables("takes"))
    recipe.takes.push_back(read_takes(entry, recipe.points));
  if (recipe.takes.empty()) in.fail("takes", "is missing", "add at least one take");
  recipe.reference_point = read_reference(in, recipe);
  recipe.truth = read_truth(in.table("truth"), recipe.sources);
  recipe.repair = read_repair(in.table_if("repair"));
  in.finish();
  return recipe;
}

}  // namespace

const RecipeSource& Recipe::culprit() const {
  return *std::ranges::find(sources, truth.source, &RecipeSource::name);
}

Recipe parse_recipe(std::string_view toml, std::string_view name) {
  const std::string file = fmt::format("recipe {}", name);
  const toml::table table = parse_toml(toml, file);
  return read_recipe(TomlReader(table, file), name);
}

std::optional<Recipe> repaired(const Recipe& recipe) {
  if (!recipe.repair) return std::nullopt;
  Recipe after = recipe;
  after.name += "-repaired";
  after.title = recipe.repair->title;
  after.visit += 1;
  after.truth.fault = "repaired: was " + recipe.truth.fault;
  after.truth.repaired = true;
  after.repair.reset();
  std::ranges::find(after.sources, after.truth.source, &RecipeSource::name)->level_db =
      recipe.repair->level_db;
  for (RecipeTakes& takes : after.takes)
    for (SpeedPoint& p : takes.speed) p.speed = p.speed * recipe.repair->speed;
  return after;
}

std::vector<Recipe> embedded_recipes() {
  std::vector<Recipe> recipes;
  for (const EmbeddedFile& file : demo_recipes())
    recipes.push_back(parse_recipe(file.content, file.name.substr(0, file.name.rfind('.'))));
  std::ranges::sort(recipes, {}, &Recipe::name);
  return recipes;
}

}  // namespace howl
