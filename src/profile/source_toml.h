#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "src/files/toml_reader.h"
#include "src/profile/source.h"
#include "src/profile/turning_toml.h"

namespace howl {

/// A source as far as a file has described it, or a kind of source.
struct SourceDraft {
  Source source;
  TurningFacts turning;
};

/// What each kind of source is like before anything is known of the vehicle, by name.
using SourceKinds = std::map<std::string, SourceDraft, std::less<>>;

/// A [[source]] of a profile: what its kind is like, overridden key by key. `points` are the names
/// of the profile's probe points. Throws Error that names line, key and remedy.
Source read_source(TomlReader in, const SourceKinds& kinds, const Wheels& wheels,
                   std::span<const std::string> points);

/// Throws Error that names line, key and remedy. `where` names the file.
SourceKinds parse_source_kinds(std::string_view toml, const std::string& where);

/// The kinds built into the program: profiles/shared/source-kinds.toml.
const SourceKinds& source_kinds();

}  // namespace howl
