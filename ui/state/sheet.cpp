#include "ui/state/sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <system_error>
#include <utility>

#include "src/case/about.h"
#include "src/case/take_rules.h"
#include "src/errors.h"
#include "src/files/user_folders.h"

namespace howl::desk {

namespace fs = std::filesystem;

namespace {

constexpr std::array<std::string_view, kSpeedEntries> kSpeedKeys{"rpm",   "sound", "log",
                                                                 "tacho", "ramp",  "off"};
constexpr std::array<std::string_view, 12> kSoundEndings{".wav", ".wave", ".flac", ".ogg",
                                                         ".oga", ".opus", ".aif",  ".aiff",
                                                         ".w64", ".caf",  ".au",   ".mp3"};
constexpr std::array<std::string_view, 4> kLogEndings{".csv", ".txt", ".tsv", ".log"};
constexpr std::string_view kLoad = "load.";

/// Longer ones before those that they begin with.
constexpr std::array<std::pair<std::string_view, std::string_view>, 32> kOptionNames{{
    {"(see Remarks)", "(see under 'Complaint')"},
    {"change the take to --rpm-from-sound", "change the take's speed to 'Sound'"},
    {"ask for a pitch with --hertz, or choose", "choose"},
    {"for fewer at once, or give another --width", "or for fewer at once"},
    {"see 'howlpoint devices', and ", ""},
    {"another with --device", "another in the system's sound settings"},
    {"--rpm-from-sound", "'Sound'"},
    {"--rpm-near", "'about, rpm'"},
    {"--rpm-ramp", "'Ramp'"},
    {"--rpm-log", "'Log'"},
    {"--rpm", "'Held'"},
    {"--tacho-channel", "'Tacho'"},
    {"--pulses-per-rev", "'pulses a turn'"},
    {"--reference-channel", "'Reference on'"},
    {"--channel", "'Probe's channel'"},
    {"--road-speed", "'Road speed'"},
    {"--load", "'Load'"},
    {"--new-point", "'another place'"},
    {"--point", "the point"},
    {"--title", "The complaint"},
    {"make one with 'new'", "begin one with 'New case'"},
    {"with 'add'", "with 'Add recordings'"},
    {"with 'change'", "with 'Change'"},
    {"with 'remove'", "with 'Take it out'"},
    {"add one with: howlpoint add", "record one, or add a recording"},
    {"add some with: howlpoint add", "record some, or add recordings"},
    {"; see howlpoint check", ""},
    {"may tell why stand below", "may tell why stand under 'Proof'"},
    {" (howlpoint bearing)", ""},
    {"make the demo case anew: howlpoint demo FOLDER", "make the demo cases anew"},
    {"--band", "the band"},
    {"--orders", "the band of orders"},
}};

std::string ending_of_name(const fs::path& file) {
  std::string ending = file.extension().string();
  std::ranges::transform(ending, ending.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return ending;
}

bool is_wanted(const fs::path& file, Wanted wanted) {
  if (wanted == Wanted::log) return is_log_file(file);
  if (wanted != Wanted::sounds) return false;
  return std::ranges::find(kSoundEndings, ending_of_name(file)) != kSoundEndings.end();
}

void look_at(const fs::directory_entry& found, Wanted wanted, std::vector<PlaceEntry>& entries) {
  std::error_code problem;
  const std::string name = found.path().filename().string();
  if (name.starts_with(".")) return;
  if (found.is_directory(problem)) {
    const bool is_case = fs::exists(found.path() / "case.json", problem);
    entries.push_back({is_case ? PlaceEntry::Kind::case_folder : PlaceEntry::Kind::folder, name});
  } else if (found.is_regular_file(problem) && is_wanted(found.path(), wanted)) {
    entries.push_back({PlaceEntry::Kind::file, name});
  }
}

SpeedEntry speed_entry(const Fields& fields) {
  const auto at = std::ranges::find(kSpeedKeys, field(fields, "speed"));
  return at == kSpeedKeys.end() ? SpeedEntry::rpm
                                : static_cast<SpeedEntry>(at - kSpeedKeys.begin());
}

TypedTake::Text given(const Fields& fields, std::string_view name) {
  const std::string text = field(fields, name);
  return text.empty() ? std::nullopt : TypedTake::Text(text);
}

void type_speed_into(TypedTake& take, const Fields& fields) {
  switch (speed_entry(fields)) {
    case SpeedEntry::rpm:
      take.rpm = given(fields, "rpm");
      return;
    case SpeedEntry::sound:
      take.from_sound = true;
      take.near = given(fields, "near");
      return;
    case SpeedEntry::log:
      take.log = field(fields, "log");
      return;
    case SpeedEntry::tacho:
      take.tacho_channel = given(fields, "tacho");
      take.pulses_per_revolution = given(fields, "pulses");
      return;
    case SpeedEntry::ramp:
      take.ramp = given(fields, "ramp");
      return;
    case SpeedEntry::off:
      take.rpm = "0";
      return;
  }
}

SpeedEntry entry_of(const TypedTake& take) {
  if (take.from_sound) return SpeedEntry::sound;
  if (take.log) return SpeedEntry::log;
  if (take.tacho_channel) return SpeedEntry::tacho;
  if (take.ramp) return SpeedEntry::ramp;
  return take.rpm == "0" ? SpeedEntry::off : SpeedEntry::rpm;
}

}  // namespace

Place read_place(const fs::path& folder, Wanted wanted) {
  Place place{.folder = folder, .entries = {}, .fault = {}, .left_out = 0};
  std::error_code problem;
  for (fs::directory_iterator at(folder, problem), end; !problem && at != end;
       at.increment(problem)) {
    if (place.entries.size() >= kMostEntries)
      ++place.left_out;
    else
      look_at(*at, wanted, place.entries);
  }
  if (problem) place.fault = problem.message();
  std::ranges::sort(place.entries, {}, [](const PlaceEntry& entry) {
    return std::pair(entry.kind == PlaceEntry::Kind::file, entry.name);
  });
  return place;
}

std::string_view speed_entry_key(SpeedEntry entry) {
  return kSpeedKeys.at(static_cast<std::size_t>(entry));
}

std::string field(const Fields& fields, std::string_view name) {
  const auto found = fields.find(name);
  return found == fields.end() ? std::string() : found->second;
}

bool is_log_file(const fs::path& file) {
  return std::ranges::find(kLogEndings, ending_of_name(file)) != kLogEndings.end();
}

fs::path typed_path(std::string_view typed, const fs::path& beside) {
  if (typed == "~") return home_or_root();
  if (typed.starts_with("~/")) return home_or_root() / typed.substr(2);
  return beside / typed;
}

fs::path home_or_root() { return home_folder().value_or("/"); }

fs::path new_case_folder(const Fields& fields, const fs::path& beside) {
  const std::string typed = field(fields, "folder");
  if (!typed.empty()) return typed_path(typed, beside);
  const std::string title = field(fields, "title");
  return title.empty() ? fs::path() : beside / sanitised_name(title);
}

TypedCase typed_case(const Fields& fields, const fs::path& beside) {
  return {.folder = new_case_folder(fields, beside).string(),
          .profile = field(fields, "profile"),
          .title = field(fields, "title")};
}

TypedTake typed_take(const Fields& fields) {
  TypedTake take;
  const std::string new_point = field(fields, "new-point");
  take.new_point = !new_point.empty();
  take.point = take.new_point ? new_point : field(fields, "point");
  type_speed_into(take, fields);
  for (const auto& [name, value] : fields)
    if (name.starts_with(kLoad) && !value.empty())
      take.load.push_back(name.substr(kLoad.size()) + "=" + value);
  take.road_speed = given(fields, "road-speed");
  take.channel = given(fields, "channel");
  take.reference_channel = given(fields, "reference");
  take.background = !field(fields, "background").empty();
  take.note = field(fields, "note");
  return take;
}

Fields fields_of(const Take& take) {
  const TypedTake typed = typed_take_of(take);
  Fields fields{{"point", typed.point},
                {"speed", std::string(speed_entry_key(entry_of(typed)))},
                {"rpm", typed.rpm.value_or("")},
                {"near", typed.near.value_or("")},
                {"tacho", typed.tacho_channel.value_or("")},
                {"pulses", typed.pulses_per_revolution.value_or("")},
                {"ramp", typed.ramp.value_or("")},
                {"road-speed", typed.road_speed.value_or("")},
                {"channel", typed.channel.value_or("")},
                {"reference", typed.reference_channel.value_or("")},
                {"background", typed.background ? "yes" : ""},
                {"note", typed.note}};
  for (const auto& [key, value] : take.load) fields[std::string(kLoad) + key] = value;
  return fields;
}

Fields fields_for_next(Fields fields) {
  for (const std::string_view once : {"point", "new-point", "log", "ramp", "note", "background"})
    fields.erase(std::string(once));
  return fields;
}

namespace {

/// Letters and digits in small, all else as one space; a space at both ends.
std::string as_words(std::string_view text) {
  std::string words = " ";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalnum(byte) != 0 || byte >= 0x80U)
      words += static_cast<char>(std::tolower(byte));
    else if (!words.ends_with(' '))
      words += ' ';
  }
  return words.ends_with(' ') ? words : words + ' ';
}

}  // namespace

std::string suggested_point(const fs::path& sound, const std::vector<ProbePoint>& points) {
  const std::string name = as_words(sound.stem().string());
  std::string best;
  for (const ProbePoint& point : points) {
    const std::string words = as_words(point.name);
    if (words.size() > 2 && name.find(words) != std::string::npos &&
        point.name.size() > best.size())
      best = point.name;
  }
  return best;
}

std::string as_in_sheet(std::string text) {
  for (const auto& [option, name] : kOptionNames)
    for (auto at = text.find(option); at != std::string::npos;
         at = text.find(option, at + name.size()))
      text.replace(at, option.size(), name);
  return text;
}

TypedBand typed_band(const Fields& fields) {
  const std::string low = field(fields, "low");
  const std::string high = field(fields, "high");
  if (low.empty() || high.empty())
    throw Error(Fault::command, "suspect band", "it has two ends, and one is not typed yet",
                "type the lower and the upper end");
  TypedBand typed;
  (field(fields, "unit") == "orders" ? typed.orders : typed.hertz) = low + ":" + high;
  return typed;
}

Fields fields_of(const AnalysisRequest::Band& band) {
  const bool in_orders = band.unit == AnalysisRequest::Band::Unit::order;
  const double steps = in_orders ? 100 : 10;
  const auto text = [&](double end) { return fmt::format("{}", std::round(end * steps) / steps); };
  return {{"unit", in_orders ? "orders" : "hz"},
          {"low", text(band.range.low)},
          {"high", text(band.range.high)}};
}

Fields about_fields_of(const Case& value) {
  Fields fields{{"title", value.title}};
  for (const AboutField& about : about_fields)
    fields[std::string(about.key)] = value.about.*about.value;
  return fields;
}

Case with_about(Case value, const Fields& fields) {
  value.title = field(fields, "title");
  require_title(value.title);
  for (const AboutField& about : about_fields) value.about.*about.value = field(fields, about.key);
  return value;
}

}  // namespace howl::desk
