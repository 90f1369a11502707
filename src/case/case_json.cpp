#include "src/case/case_json.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <utility>

#include "src/case/about.h"
#include "src/case/speed_limits.h"
#include "src/case/take_rules.h"
#include "src/errors.h"

namespace howl {

namespace {

using nlohmann::json;

constexpr std::string_view schema_family = "howlpoint.case/";
constexpr std::string_view how_to_mend =
    "restore the file from a copy, or correct that field by hand";

std::string schema() { return fmt::format("{}{}", schema_family, Case::version); }

// ---- writing ----

json json_of(const SpeedPoint& point) {
  return {{"seconds", point.time.value}, {"rpm", point.speed.value}};
}

json json_of(const SpeedSource& speed) {
  struct Write {
    json operator()(const EnteredSpeed& s) const {
      return {{"source", "entered"}, {"rpm", s.speed.value}};
    }
    json operator()(const EnteredRamp& s) const {
      json points = json::array();
      for (const SpeedPoint& point : s.points) points.push_back(json_of(point));
      return {{"source", "ramp"}, {"points", points}};
    }
    json operator()(const LoggedSpeed& s) const {
      return {{"source", "logged"}, {"log", s.log}, {"sha256", s.sha256}};
    }
    json operator()(const TachoSpeed& s) const {
      return {{"source", "tacho"},
              {"channel", s.channel},
              {"pulses_per_revolution", s.pulses_per_revolution}};
    }
    json operator()(const SpeedInSound& s) const {
      json value{{"source", "sound"}};
      if (s.near) value["near_rpm"] = s.near->value;
      return value;
    }
    json operator()(const EngineOff&) const { return {{"source", "engine off"}}; }
  };
  return std::visit(Write{}, speed);
}

constexpr std::array<std::pair<std::string_view, SketchPlace::View>, 3> views{
    {{"below", SketchPlace::View::below},
     {"above", SketchPlace::View::above},
     {"front", SketchPlace::View::front}}};

json json_of(const SketchPlace& place) {
  const auto* const view = std::ranges::find(views, place.view, [](auto& v) { return v.second; });
  return {{"view", view->first}, {"x", place.x}, {"y", place.y}};
}

json json_of(const ProbePoint& point) {
  json value{{"name", point.name}, {"description", point.description}};
  if (point.place) value["place"] = json_of(*point.place);
  return value;
}

json json_of(const std::vector<Overrun>& overruns) {
  json list = json::array();
  for (const Overrun& overrun : overruns) {
    json value{{"seconds", overrun.at.value}};
    if (overrun.frames) value["frames"] = *overrun.frames;
    list.push_back(value);
  }
  return list;
}

json json_of(const Take& take) {
  json value{{"id", take.id},
             {"point", take.point},
             {"recording", take.recording},
             {"original_name", take.original_name},
             {"sha256", take.sha256},
             {"sample_rate", take.sample_rate},
             {"frames", take.frames},
             {"channels", take.channels},
             {"channel", take.channel},
             {"speed", json_of(take.speed)},
             {"load", take.load},
             {"note", take.note},
             {"added", take.added}};
  if (take.reference_channel) value["reference_channel"] = *take.reference_channel;
  if (take.road_speed_kmh) value["road_speed_kmh"] = *take.road_speed_kmh;
  if (take.background) value["background"] = true;
  if (!take.overruns.empty()) value["overruns"] = json_of(take.overruns);
  return value;
}

json json_of(const WorkshopEvidence& evidence) {
  return {{"key", evidence.key},
          {"value", evidence.value},
          {"note", evidence.note},
          {"added", evidence.added}};
}

json json_of(const CaseAbout& about) {
  json value = json::object();
  for (const AboutField& field : about_fields)
    if (!(about.*field.value).empty()) value[std::string(field.key)] = about.*field.value;
  return value;
}

template <class Item>
json list_of(const std::vector<Item>& items) {
  json list = json::array();
  for (const Item& item : items) list.push_back(json_of(item));
  return list;
}

// ---- reading ----

/// A value in the file together with its place, for messages: "takes[2].speed.rpm".
class Field {
 public:
  Field(const json& value, std::string place, const std::string& file)
      : value_(&value), place_(std::move(place)), file_(&file) {}

  Error wrong(std::string_view what) const {
    return {Fault::file, *file_, fmt::format("{} {}", place_.empty() ? "the whole" : place_, what),
            std::string(how_to_mend)};
  }
  void require(bool right, std::string_view otherwise) const {
    if (!right) throw wrong(otherwise);
  }

  std::optional<Field> find(const std::string& name) const {
    require(value_->is_object(), "is not an object");
    const auto found = value_->find(name);
    if (found == value_->end() || found->is_null()) return std::nullopt;
    return Field(*found, place_.empty() ? name : place_ + "." + name, *file_);
  }
  Field at(const std::string& name) const {
    auto found = find(name);
    require(found.has_value(), fmt::format("has no field '{}'", name));
    return *std::move(found);
  }

  std::string text() const {
    require(value_->is_string(), "is not text");
    return value_->get<std::string>();
  }
  std::string text_not_empty() const {
    std::string value = text();
    require(!value.empty(), "is empty");
    return value;
  }
  bool truth() const {
    require(value_->is_boolean(), "is neither true nor false");
    return value_->get<bool>();
  }
  double number(double low, double high) const {
    require(value_->is_number(), "is not a number");
    const double value = value_->get<double>();
    require(value >= low && value <= high, fmt::format("is not within {:g} to {:g}", low, high));
    return value;
  }
  std::int64_t whole(std::int64_t low, std::int64_t high) const {
    require(value_->is_number_integer(), "is not a whole number");
    const bool too_large = value_->is_number_unsigned() &&
                           value_->get<std::uint64_t>() > static_cast<std::uint64_t>(high);
    require(!too_large && value_->get<std::int64_t>() >= low,
            fmt::format("is not within {} to {}", low, high));
    return value_->get<std::int64_t>();
  }
  std::vector<Field> items() const {
    require(value_->is_array(), "is not a list");
    std::vector<Field> fields;
    for (std::size_t i = 0; i < value_->size(); ++i)
      fields.emplace_back((*value_)[i], fmt::format("{}[{}]", place_, i), *file_);
    return fields;
  }
  LoadState texts_by_name() const {
    require(value_->is_object(), "is not an object");
    LoadState texts;
    for (const auto& [name, value] : value_->items())
      texts[name] = Field(value, place_ + "." + name, *file_).text();
    return texts;
  }

 private:
  const json* value_;
  std::string place_;
  const std::string* file_;
};

std::string text_or_empty(const Field& parent, const std::string& name) {
  const auto field = parent.find(name);
  return field ? field->text() : std::string{};
}

std::string path_inside(const Field& field) {
  std::string path = field.text_not_empty();
  field.require(leads_inside(path), "leads out of the case folder");
  return path;
}

std::string hash_in(const Field& field) {
  std::string hash = field.text();
  const auto is_digit = [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); };
  field.require(hash.size() == 64 && std::ranges::all_of(hash, is_digit),
                "is not 64 lower-case hexadecimal digits");
  return hash;
}

Rpm speed_in(const Field& field) {
  const Rpm speed(field.number(0.0, highest_speed.value));
  field.require(plausible(speed), "is not above 0 rpm");
  return speed;
}

std::vector<SpeedPoint> ramp_in(const Field& field) {
  constexpr double latest = 1e6;
  std::vector<SpeedPoint> points;
  for (const Field& item : field.items()) {
    const Field seconds = item.at("seconds");
    const Seconds time(seconds.number(-latest, latest));
    seconds.require(points.empty() || time > points.back().time,
                    "does not come after the one before");
    points.push_back({time, speed_in(item.at("rpm"))});
  }
  field.require(!points.empty(), "is empty");
  return points;
}

SpeedSource speed_source_in(const Field& field, int channels) {
  const Field source = field.at("source");
  const std::string name = source.text();
  if (name == "entered") return EnteredSpeed{speed_in(field.at("rpm"))};
  if (name == "ramp") return EnteredRamp{ramp_in(field.at("points"))};
  if (name == "logged")
    return LoggedSpeed{path_inside(field.at("log")), hash_in(field.at("sha256"))};
  if (name == "engine off") return EngineOff{};
  if (name == "sound") {
    SpeedInSound heard;
    if (const auto near = field.find("near_rpm")) heard.near = speed_in(*near);
    return heard;
  }
  source.require(name == "tacho", "is none of entered, ramp, logged, tacho, sound, engine off");
  const Field pulses = field.at("pulses_per_revolution");
  const double per_revolution = pulses.number(0.0, most_pulses_per_revolution);
  pulses.require(per_revolution > 0.0, "is not above 0");
  return TachoSpeed{static_cast<int>(field.at("channel").whole(1, channels)), per_revolution};
}

std::vector<Overrun> overruns_in(const Field& field) {
  constexpr double latest = 1e9;
  std::vector<Overrun> overruns;
  for (const Field& item : field.items()) {
    Overrun overrun{.at = Seconds(item.at("seconds").number(0.0, latest)), .frames = std::nullopt};
    if (const auto frames = item.find("frames"))
      overrun.frames = frames->whole(1, std::int64_t{1} << 50U);
    overruns.push_back(overrun);
  }
  return overruns;
}

Take take_in(const Field& field) {
  Take take;
  take.id = field.at("id").text_not_empty();
  take.point = field.at("point").text_not_empty();
  take.recording = path_inside(field.at("recording"));
  take.original_name = text_or_empty(field, "original_name");
  take.sha256 = hash_in(field.at("sha256"));
  take.sample_rate = field.at("sample_rate").number(4000.0, 384'000.0);
  take.frames = field.at("frames").whole(1, std::int64_t{1} << 50U);
  take.channels = static_cast<int>(field.at("channels").whole(1, 1024));
  take.channel = static_cast<int>(field.at("channel").whole(1, take.channels));
  if (const auto reference = field.find("reference_channel"))
    take.reference_channel = static_cast<int>(reference->whole(1, take.channels));
  take.speed = speed_source_in(field.at("speed"), take.channels);
  if (const auto load = field.find("load")) take.load = load->texts_by_name();
  if (const auto road = field.find("road_speed_kmh"))
    take.road_speed_kmh = road->number(0.0, highest_road_speed_kmh);
  if (const auto background = field.find("background")) take.background = background->truth();
  if (const auto overruns = field.find("overruns")) take.overruns = overruns_in(*overruns);
  take.note = text_or_empty(field, "note");
  take.added = text_or_empty(field, "added");
  return take;
}

SketchPlace place_in(const Field& field) {
  const Field name = field.at("view");
  const std::string word = name.text();
  const auto* const view = std::ranges::find(views, word, [](auto& v) { return v.first; });
  name.require(view != views.end(), "is none of below, above, front");
  return {view->second, field.at("x").number(0.0, 1.0), field.at("y").number(0.0, 1.0)};
}

ProbePoint point_in(const Field& field) {
  ProbePoint point{.name = field.at("name").text_not_empty(),
                   .description = text_or_empty(field, "description")};
  if (const auto place = field.find("place")) point.place = place_in(*place);
  return point;
}

WorkshopEvidence evidence_in(const Field& field) {
  return {.key = field.at("key").text_not_empty(),
          .value = field.at("value").text_not_empty(),
          .note = text_or_empty(field, "note"),
          .added = text_or_empty(field, "added")};
}

CaseAbout about_in(const Field& field) {
  CaseAbout about;
  for (const AboutField& each : about_fields)
    about.*each.value = text_or_empty(field, std::string(each.key));
  return about;
}

template <class Item, class Read, class Key>
std::vector<Item> list_in(const Field& field, Read read, Key key) {
  std::vector<Item> items;
  std::set<std::string> seen;
  for (const Field& element : field.items()) {
    items.push_back(read(element));
    element.require(seen.insert(std::invoke(key, items.back())).second,
                    fmt::format("repeats '{}'", std::invoke(key, items.back())));
  }
  return items;
}

Error newer_version(const std::string& where, std::string_view version) {
  return {Fault::file, where,
          fmt::format("was written by a newer program (case version {}; this one knows {})",
                      version, Case::version),
          "update this program; nothing was changed"};
}

bool is_newer(std::string_view version) {
  const bool digits = !version.empty() && version.front() != '0' &&
                      std::ranges::all_of(version, [](char c) { return c >= '0' && c <= '9'; });
  const std::string known = std::to_string(Case::version);
  return digits &&
         (version.size() > known.size() || (version.size() == known.size() && version > known));
}

void require_known_version(const Field& whole, const std::string& where) {
  const Field schema_field = whole.at("schema");
  const std::string written = schema_field.text();
  schema_field.require(written.starts_with(schema_family), "is not that of a case");
  const std::string_view in_schema = std::string_view(written).substr(schema_family.size());
  if (is_newer(in_schema)) throw newer_version(where, in_schema);
  const std::int64_t version = whole.at("version").whole(1, 1'000'000);
  if (version > Case::version) throw newer_version(where, std::to_string(version));
  schema_field.require(written == schema(), fmt::format("is not \"{}\"", schema()));
}

/// "line 2, column 14": of the byte `at`, counted from 1, as a text editor does.
std::string line_and_column(std::string_view text, std::size_t at) {
  const std::string_view before = text.substr(0, std::min(at == 0 ? 0 : at - 1, text.size()));
  const auto lines = std::ranges::count(before, '\n');
  const std::string_view last = before.substr(before.rfind('\n') + 1);  // npos + 1 is 0
  const auto characters = std::ranges::count_if(
      last, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; });
  return fmt::format("line {}, column {}", lines + 1, characters + 1);
}

json parsed(std::string_view text, const std::string& where) {
  try {
    return json::parse(text);
  } catch (const json::parse_error& problem) {
    const bool ends = problem.byte > text.size();
    throw Error(Fault::file, where,
                fmt::format("{} at {}", ends ? "breaks off" : "is damaged",
                            line_and_column(text, problem.byte)),
                "restore the file from a copy");
  } catch (const json::exception&) {  // a number beyond all bounds
    throw Error(Fault::file, where, "holds a number that cannot be",
                "restore the file from a copy");
  }
}

}  // namespace

std::string json_of_case(const Case& value) {
  json whole{{"schema", schema()},           {"version", Case::version},
             {"title", value.title},         {"profile", value.profile},
             {"created", value.created},     {"points", list_of(value.points)},
             {"takes", list_of(value.takes)}};
  if (value.cylinders) whole["cylinders"] = *value.cylinders;
  if (value.profile_sha256) whole["profile_sha256"] = *value.profile_sha256;
  if (!value.evidence.empty()) whole["evidence"] = list_of(value.evidence);
  if (json about = json_of(value.about); !about.empty()) whole["about"] = std::move(about);
  // Text that is not UTF-8 (from an odd file name, say) gets a replacement sign, not a failure.
  return whole.dump(2, ' ', false, json::error_handler_t::replace) + "\n";
}

Case case_of_json(std::string_view text, const std::string& where) {
  const json value = parsed(text, where);
  const Field whole(value, "", where);
  require_known_version(whole, where);
  Case result;
  result.title = whole.at("title").text();
  result.profile = whole.at("profile").text();
  if (const auto hash = whole.find("profile_sha256")) result.profile_sha256 = hash_in(*hash);
  result.created = whole.at("created").text();
  if (const auto cylinders = whole.find("cylinders"))
    result.cylinders = static_cast<int>(cylinders->whole(1, 16));
  result.points = list_in<ProbePoint>(whole.at("points"), point_in, &ProbePoint::name);
  result.takes = list_in<Take>(whole.at("takes"), take_in, &Take::id);
  if (const auto evidence = whole.find("evidence"))
    result.evidence = list_in<WorkshopEvidence>(*evidence, evidence_in, &WorkshopEvidence::key);
  if (const auto about = whole.find("about")) result.about = about_in(*about);
  return result;
}

}  // namespace howl
