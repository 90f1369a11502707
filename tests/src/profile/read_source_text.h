#pragma once

#include <doctest/doctest.h>

#include <array>
#include <string>
#include <vector>

#include "src/profile/expected_lines.h"
#include "src/profile/source_toml.h"

namespace howl::test {

/// Reads the keys of one [[source]] of a kind, against the probe points "near" and "far".
inline Source source_of(const std::string& keys, const std::string& kind = "fixture",
                        const Wheels& wheels = {}) {
  static const std::array<std::string, 2> points{"near", "far"};
  static const SourceKinds fixture = parse_source_kinds(
      "[[kind]]\nname = \"fixture\"\ndrive = \"crank\"\nmakes = []\n"
      "[[kind.cause]]\nid = \"worn\"\nshare = 1\nrepair = \"replace\"\nhours = 1\n",
      "fixture.toml");
  const std::string text = "kind = \"" + kind + "\"\n" + keys + "\n";
  const toml::table table = parse_toml(text, "my.toml");
  return read_source(TomlReader(table, "my.toml", "source"),
                     kind == "fixture" ? fixture : source_kinds(), wheels, points);
}

inline std::vector<ExpectedLine> lines_of(const std::string& keys) {
  return expected_lines(source_of(keys));
}

inline ExpectedLine only_line(const std::string& keys) {
  const auto lines = lines_of(keys);
  REQUIRE(lines.size() == 1);
  return lines.front();
}

}  // namespace howl::test
