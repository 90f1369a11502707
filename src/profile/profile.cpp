#include "src/profile/profile.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "embedded/embedded_profiles.h"
#include "src/errors.h"
#include "src/files/read_file.h"
#include "src/files/toml_reader.h"
#include "src/profile/load_tests.h"
#include "src/profile/sketch_toml.h"
#include "src/profile/source_toml.h"

namespace howl {

namespace {

constexpr std::size_t largest_profile_bytes = 1'000'000;

std::vector<ProbePoint> points_in(TomlReader& whole) {
  std::vector<ProbePoint> points;
  for (TomlReader& in : whole.tables("probe_point")) {
    ProbePoint point{.name = in.text("name"),
                     .description = in.text("description"),
                     .place = read_sketch_place(in)};
    in.finish();
    if (std::ranges::find(points, point.name, &ProbePoint::name) != points.end())
      in.fail("name", fmt::format("'{}' occurs twice", point.name),
              "give every probe point its own name");
    points.push_back(std::move(point));
  }
  if (points.empty()) whole.fail("probe_point", "is missing", "add at least one [[probe_point]]");
  return points;
}

std::vector<Source> sources_in(TomlReader& whole, const std::vector<ProbePoint>& points) {
  Wheels wheels;
  if (const auto in = whole.table_if("wheels")) wheels = read_wheels(*in);
  std::vector<std::string> names;
  for (const ProbePoint& point : points) names.push_back(point.name);
  std::vector<Source> sources;
  for (const TomlReader& in : whole.tables("source")) {
    Source source = read_source(in, source_kinds(), wheels, names);
    if (std::ranges::find(sources, source.name, &Source::name) != sources.end())
      in.fail("name", fmt::format("'{}' occurs twice", source.name),
              "give every source a name of its own");
    sources.push_back(std::move(source));
  }
  return sources;
}

std::vector<std::string> impossible_tests_in(TomlReader& whole) {
  if (!whole.has("impossible_tests")) return {};
  std::vector<std::string> keys = whole.texts("impossible_tests");
  for (const std::string& key : keys)
    if (find_load_test(key) == nullptr)
      whole.fail("impossible_tests", fmt::format("names '{}', which is no load test", key),
                 fmt::format("use {}", fmt::join(load_test_keys(), ", ")));
  return keys;
}

void read_engine(TomlReader in, Profile& profile) {
  profile.cylinders = in.whole_if("cylinders", 1, 16);
  profile.strokes = in.whole_if("strokes", 4, 4).value_or(4);
  in.finish();
}

Profile profile_in(TomlReader whole) {
  Profile profile;
  profile.name = whole.text("name");
  profile.title = whole.text("title");
  profile.description = whole.text("description");
  if (const auto engine = whole.table_if("engine")) read_engine(*engine, profile);
  profile.points = points_in(whole);
  profile.impossible_tests = impossible_tests_in(whole);
  profile.sources = sources_in(whole, profile.points);
  profile.outlines = read_outlines(whole);
  whole.finish();
  return profile;
}

bool is_path(std::string_view text) {
  return text.ends_with(".toml") || text.find('/') != std::string_view::npos;
}

}  // namespace

Profile parse_profile(std::string_view toml, const std::string& where) {
  const toml::table table = parse_toml(toml, where);
  Profile profile = profile_in(TomlReader(table, where));
  profile.toml = toml;
  return profile;
}

std::vector<Profile> list_profiles() {
  std::vector<Profile> profiles;
  for (const EmbeddedFile& file : embedded_profiles())
    profiles.push_back(parse_profile(file.content, std::string(file.name)));
  std::ranges::sort(profiles, {}, &Profile::name);
  return profiles;
}

Profile load_profile(const std::string& name_or_path) {
  if (is_path(name_or_path))
    return parse_profile(read_text_file(name_or_path, largest_profile_bytes), name_or_path);
  std::vector<std::string> known;
  for (Profile& profile : list_profiles()) {
    if (profile.name == name_or_path) return std::move(profile);
    known.push_back(profile.name);
  }
  throw Error(Fault::command, fmt::format("profile '{}'", name_or_path), "is not known",
              fmt::format("use one of {}; or give a .toml file", fmt::join(known, ", ")));
}

bool is_test_possible(const Profile& profile, std::string_view load_test) {
  return std::ranges::find(profile.impossible_tests, load_test) == profile.impossible_tests.end();
}

}  // namespace howl
