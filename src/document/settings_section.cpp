#include <string>

#include "src/document/sections.h"
#include "src/report/number_text.h"
#include "src/version.h"

namespace howl::document {

Section settings_section(const Material& material) {
  Section section{
      .id = "settings", .title = "Settings, and how to check this report", .blocks = {}};
  Facts facts;
  const auto say = [&](const char* label, std::string text) {
    facts.items.emplace_back(label, std::move(text));
  };
  const Case& value = material.value;
  say("Program", std::string("howlpoint ") + version);
  say("Case made", value.created.empty() ? "not known" : value.created);
  say("Layout", value.profile);
  say("SHA-256 of profile.toml", value.profile_sha256.value_or("the case keeps none"));
  say("Workshop facts", material.shops_own_facts ? "the shop's own file" : "built in");
  say("SHA-256 of workshop facts", material.facts_sha256);
  say("Cylinders", value.cylinders ? std::to_string(*value.cylinders) : "not known");
  say("Suspect band asked for",
      material.request.band ? band_text(*material.request.band) : "none; the program chose");
  say("Levels", material.analysis.level_reference);
  section.blocks.emplace_back(std::move(facts));
  section.blocks.emplace_back(Paragraph{
      "The analysis has no other settings. The same case, settings and version of the program give "
      "the same report, byte for byte, on the same system: whoever has the case can make it again "
      "and compare. This file also holds a manifest of all files of the case with their SHA-256. "
      "The command howlpoint check CASE --report FILE compares it with the case, and names every "
      "file that was changed, swapped, added or taken away since. It shows that the case is the "
      "one reported on, not who made it."});
  return section;
}

}  // namespace howl::document
