#include "src/profile/profile.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <toml++/toml.h>
#include <algorithm>
#include <cstdint>
#include <initializer_list>

#include "embedded/embedded_profiles.h"
#include "src/errors.h"
#include "src/files/read_file.h"

namespace howl {

namespace {

constexpr std::size_t largest_profile_bytes = 1'000'000;

using Keys = std::initializer_list<std::string_view>;

/// A table of the file, with its name for messages: "engine", "probe_point".
class Table {
 public:
  Table(const toml::table& table, std::string name, const std::string& file)
      : table_(table), name_(std::move(name)), file_(file) {}

  Error wrong(const toml::node& node, std::string_view key, std::string_view what,
              std::string remedy) const {
    return {Fault::file, fmt::format("{}, line {}", file_, node.source().begin.line),
            fmt::format("{} {}", path(key), what), std::move(remedy)};
  }

  /// A misspelt key must not be passed over in silence.
  void require_only(Keys known) const {
    for (const auto& [key, node] : table_)
      if (std::ranges::find(known, key.str()) == known.end())
        throw wrong(node, key.str(), "is not a key that is known here",
                    fmt::format("known are {}", fmt::join(known, ", ")));
  }

  std::string text(std::string_view key) const {
    const toml::node* node = table_.get(key);
    if (node == nullptr)
      throw wrong(table_, key, "is missing", fmt::format("add a line: {} = \"…\"", key));
    const auto value = node->value_exact<std::string>();
    if (!value || value->empty())
      throw wrong(*node, key, "must be text, and not empty", "put it into quotation marks");
    return *value;
  }

  std::optional<int> whole(std::string_view key, int low, int high) const {
    const toml::node* node = table_.get(key);
    if (node == nullptr) return std::nullopt;
    const auto value = node->value_exact<std::int64_t>();
    if (!value || *value < low || *value > high)
      throw wrong(*node, key,
                  low == high ? fmt::format("must be {}", low)
                              : fmt::format("must be a whole number from {} to {}", low, high),
                  "correct the number, without quotation marks");
    return static_cast<int>(*value);
  }

  std::optional<Table> table(std::string_view key) const {
    const toml::node* node = table_.get(key);
    if (node == nullptr) return std::nullopt;
    if (!node->is_table())
      throw wrong(*node, key, "must be a table", fmt::format("begin it with [{}]", key));
    return Table(*node->as_table(), std::string(key), file_);
  }

  std::vector<Table> tables(std::string_view key) const {
    const toml::node* node = table_.get(key);
    if (node == nullptr)
      throw wrong(table_, key, "is missing", fmt::format("add at least one [[{}]]", key));
    const bool alike = node->is_array() && !node->as_array()->empty() &&
                       node->as_array()->is_homogeneous(toml::node_type::table);
    if (!alike)
      throw wrong(*node, key, "must be a list of tables",
                  fmt::format("begin each with [[{}]]", key));
    std::vector<Table> list;
    for (const toml::node& item : *node->as_array())
      list.emplace_back(*item.as_table(), std::string(key), file_);
    return list;
  }

  const toml::node& node() const { return table_; }

 private:
  std::string path(std::string_view key) const {
    return name_.empty() ? fmt::format("'{}'", key) : fmt::format("'{}.{}'", name_, key);
  }

  const toml::table& table_;
  std::string name_;
  const std::string& file_;
};

std::vector<ProbePoint> points_in(const Table& whole) {
  std::vector<ProbePoint> points;
  for (const Table& table : whole.tables("probe_point")) {
    table.require_only({"name", "description"});
    ProbePoint point{.name = table.text("name"), .description = table.text("description")};
    if (std::ranges::find(points, point.name, &ProbePoint::name) != points.end())
      throw table.wrong(table.node(), "name", fmt::format("'{}' occurs twice", point.name),
                        "give every probe point its own name");
    points.push_back(std::move(point));
  }
  return points;
}

Profile profile_in(const Table& whole) {
  whole.require_only({"name", "title", "description", "engine", "probe_point"});
  Profile profile;
  profile.name = whole.text("name");
  profile.title = whole.text("title");
  profile.description = whole.text("description");
  if (const auto engine = whole.table("engine")) {
    engine->require_only({"cylinders", "strokes"});
    profile.cylinders = engine->whole("cylinders", 1, 16);
    profile.strokes = engine->whole("strokes", 4, 4).value_or(4);
  }
  profile.points = points_in(whole);
  return profile;
}

toml::table parsed(std::string_view text, const std::string& where) {
  try {
    return toml::parse(text, where);
  } catch (const toml::parse_error& problem) {
    throw Error(Fault::file, fmt::format("{}, line {}", where, problem.source().begin.line),
                fmt::format("is not TOML: {}", problem.description()), "correct that line");
  }
}

bool is_path(std::string_view text) {
  return text.ends_with(".toml") || text.find('/') != std::string_view::npos;
}

}  // namespace

Profile parse_profile(std::string_view toml, const std::string& where) {
  const toml::table table = parsed(toml, where);
  return profile_in(Table(table, "", where));
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

}  // namespace howl
