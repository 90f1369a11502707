#include "src/profile/source_toml.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "embedded/shared_profile_data.h"
#include "src/embedded.h"
#include "src/files/toml_choice.h"
#include "src/profile/load_tests.h"
#include "src/profile/makes_toml.h"

namespace howl {

namespace {

constexpr Interval kChance{0.0, 1.0};
constexpr Interval kDecibel{0.0, 80.0};
constexpr Interval kHowOften{1e-3, 1e3};
constexpr Interval kHours{0.01, 1000.0};

constexpr Choices<Reaction, 6> kReactions{{{"louder", Reaction::louder},
                                           {"quieter", Reaction::quieter},
                                           {"starts", Reaction::starts},
                                           {"stops", Reaction::stops},
                                           {"same", Reaction::same},
                                           {"unknown", Reaction::unknown}}};

void read_reactions(TomlReader& in, std::map<std::string, Reaction>& known) {
  std::optional<TomlReader> reacts = in.table_if("reacts");
  if (!reacts) return;
  for (const std::string& key : reacts->keys()) {
    if (find_load_test(key) == nullptr)
      reacts->fail(key, "is not a load test",
                   fmt::format("use {}", fmt::join(load_test_keys(), ", ")));
    known[key] = choice(*reacts, key, kReactions);
  }
}

void read_heard_at(TomlReader& in, std::span<const std::string> points, Source& source) {
  if (!in.says("heard_at")) return;
  source.below_db = in.number_map("heard_at", kDecibel);
  double least = std::numeric_limits<double>::infinity();
  for (const auto& [point, below] : source.below_db) {
    least = std::min(least, below);
    if (std::ranges::find(points, point) == points.end())
      in.fail("heard_at", fmt::format("names '{}', which is no probe point of the profile", point),
              fmt::format("use one of {}", fmt::join(points, ", ")));
  }
  if (least != 0.0)
    in.fail("heard_at", fmt::format("begins at {:g} dB", least),
            "give 0 to the point at which it is loudest, and how much weaker it is at others");
}

Cause read_cause(TomlReader& in) {
  Cause cause{.id = in.text("id"),
              .share = in.number("share", kChance),
              .repair = in.text("repair"),
              .hours = in.number("hours", kHours),
              .irreversible = in.flag_if("irreversible").value_or(false)};
  in.finish();
  return cause;
}

void read_causes(TomlReader& in, std::vector<Cause>& known) {
  if (!in.has("cause")) return;
  known.clear();
  double sum = 0.0;
  for (TomlReader& entry : in.tables("cause")) {
    Cause cause = read_cause(entry);
    if (std::ranges::find(known, cause.id, &Cause::id) != known.end())
      entry.fail("id", fmt::format("'{}' occurs twice", cause.id), "name every cause once");
    sum += cause.share;
    known.push_back(std::move(cause));
  }
  require_whole(in, "cause", sum);
}

template <class Value>
void overwrite(Value& known, const std::optional<Value>& said) {
  if (said) known = *said;
}

/// What a kind and a source of a profile have in common.
void read_draft(TomlReader& in, SourceDraft& known) {
  Source& source = known.source;
  overwrite(source.component, in.text_if("component"));
  read_turning(in, known.turning);
  if (in.says("makes")) source.makes = read_makes(in);
  read_reactions(in, source.reacts);
  overwrite(source.elsewhere_db, in.number_if("elsewhere_db", kDecibel));
  overwrite(source.how_often, in.number_if("how_often", kHowOften));
  overwrite(source.chance_of_harmonics, in.number_if("chance_of_harmonics", kChance));
  overwrite(source.chance_of_sidebands, in.number_if("chance_of_sidebands", kChance));
  overwrite(source.strikes, in.flag_if("strikes"));
  read_causes(in, source.causes);
}

SourceDraft read_kind(TomlReader in) {
  SourceDraft kind;
  kind.source.name = kind.source.kind = in.text("name");
  kind.source.component = kind.source.name;
  read_draft(in, kind);
  in.finish();
  if (kind.source.causes.empty()) in.fail("cause", "is missing", "add at least one [[kind.cause]]");
  turning_of(in, kind.turning, {});
  return kind;
}

std::vector<std::string> names_of(const SourceKinds& kinds) {
  std::vector<std::string> names;
  for (const auto& [name, kind] : kinds) names.push_back(name);
  return names;
}

}  // namespace

std::string_view reaction_name(Reaction reaction) { return word_of(reaction, kReactions); }

Source read_source(TomlReader in, const SourceKinds& kinds, const Wheels& wheels,
                   std::span<const std::string> points) {
  const std::string kind = in.text("kind");
  const auto found = kinds.find(kind);
  if (found == kinds.end())
    in.fail("kind", fmt::format("'{}' is not known", kind),
            fmt::format("use one of {}", fmt::join(names_of(kinds), ", ")));
  SourceDraft draft = found->second;
  overwrite(draft.source.name, in.text_if("name"));
  read_draft(in, draft);
  read_heard_at(in, points, draft.source);
  in.finish();
  draft.source.turning = turning_of(in, draft.turning, wheels);
  return std::move(draft.source);
}

SourceKinds parse_source_kinds(std::string_view toml, const std::string& where) {
  const toml::table table = parse_toml(toml, where);
  TomlReader whole(table, where);
  SourceKinds kinds;
  for (TomlReader& in : whole.tables("kind")) {
    SourceDraft kind = read_kind(in);
    const std::string name = kind.source.kind;
    if (!kinds.emplace(name, std::move(kind)).second)
      in.fail("name", fmt::format("'{}' occurs twice", name), "give every kind its own name");
  }
  whole.finish();
  return kinds;
}

const SourceKinds& source_kinds() {
  static const SourceKinds kinds = [] {
    const EmbeddedFile& file =
        *std::ranges::find(shared_profile_data(), "source-kinds.toml", &EmbeddedFile::name);
    return parse_source_kinds(file.content, std::string(file.name));
  }();
  return kinds;
}

}  // namespace howl
