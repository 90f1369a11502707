#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/case/case_folder.h"
#include "src/case/evidence.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/entry/names.h"
#include "src/entry/typed_evidence.h"
#include "src/errors.h"
#include "src/profile/case_profile.h"
#include "src/reasoning/entered_facts.h"
#include "src/reasoning/workshop_facts.h"
#include "src/report/evidence_list.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

using Facts = std::vector<WorkshopFact>;

struct EvidenceOptions {
  std::string folder;
  std::vector<std::string> entries;
  std::vector<std::string> forget;
  std::string note;
  bool json{};
  bool facts{};
};

bool changes_something(const EvidenceOptions& options) {
  return !options.entries.empty() || !options.forget.empty();
}

void require_sound_options(const EvidenceOptions& options) {
  if (options.facts && (!options.folder.empty() || options.json))
    throw Error(Fault::command, "--facts", "prints the built-in file, whatever the case",
                "give it alone");
  if (!options.facts && options.folder.empty())
    throw Error(Fault::command, "CASE", "is missing", "name the folder of a case; see --help");
  if (options.json && changes_something(options))
    throw Error(Fault::command, "--json", "is for the list, and changes nothing",
                "enter first, then list with --json");
  if (!options.note.empty() && options.entries.empty())
    throw Error(Fault::command, "--note", "means something only beside a fact that is entered",
                "give both, for example fluid-level=low --note \"read twice\"");
}

std::vector<WorkshopEvidence> entries_of(const EvidenceOptions& options, const Facts& facts) {
  std::vector<WorkshopEvidence> entries;
  for (const std::string& typed : options.entries) {
    WorkshopEvidence entry = evidence_of(typed, options.note, facts);
    if (std::ranges::find(entries, entry.key, &WorkshopEvidence::key) != entries.end())
      throw Error(Fault::command, typed, fmt::format("'{}' was given before", entry.key),
                  "give every fact once");
    entries.push_back(std::move(entry));
  }
  return entries;
}

void forget(Case& value, const std::vector<std::string>& keys) {
  std::vector<std::string> known;
  for (const WorkshopEvidence& entry : value.evidence) known.push_back(entry.key);
  for (const std::string& key : keys)
    if (!forget_evidence(value, key) && !forget_evidence(value, plain_word(key)))
      throw Error(Fault::command, "--forget " + key, "it is not entered",
                  did_you_mean(key, known) +
                      (known.empty() ? "nothing is" : "entered are " + joined(known, ", ")));
}

/// Facts that would let this one count for more, and are not entered.
std::string wanted_beside(const WorkshopEvidence& entry, const Case& value, const Facts& facts) {
  std::string text;
  for (const WorkshopFact& fact : facts)
    if (fact.trust && fact.trust->in == entry.key && find_evidence(value, fact.key) == nullptr)
      text += wrapped(fmt::format("It counts for more once {} is entered too: {}.", fact.key,
                                  joined(fact.values, ", ")),
                      4, 96);
  return text;
}

std::string confirmation_of(const WorkshopEvidence& entry, const Case& before, const Case& after,
                            const Facts& facts) {
  const WorkshopFact& fact = *find_fact(facts, entry.key);
  const WorkshopEvidence* was = find_evidence(before, entry.key);
  std::string text = fmt::format("Entered {}={}{}\n", entry.key, entry.value,
                                 was != nullptr && was->value != entry.value
                                     ? fmt::format(" in the place of {}", printable(was->value))
                                     : "");
  if (const auto says = fact.says.find(entry.value); says != fact.says.end())
    text += wrapped(says->second + ".", 4, 96);
  return text + wanted_beside(entry, after, facts);
}

void change_evidence(const EvidenceOptions& options, const Facts& facts) {
  const std::vector<WorkshopEvidence> entries = entries_of(options, facts);
  Case before;
  Case after;
  update_case(options.folder, [&](Case& value) {
    before = value;
    forget(value, options.forget);
    for (const WorkshopEvidence& entry : entries) enter_evidence(value, entry);
    after = value;
  });
  std::string text;
  for (const std::string& key : options.forget) text += "Forgot " + printable(key) + "\n";
  for (const WorkshopEvidence& entry : entries)
    text += confirmation_of(entry, before, after, facts);
  print_result(text);
}

void list_evidence(const EvidenceOptions& options, const Facts& facts) {
  const Case value = load_case(options.folder);
  const Facts offered = facts_for(case_profile(options.folder, value).sources, facts);
  print_result(options.json ? evidence_json(value.evidence, facts, offered)
                            : evidence_list(value.evidence, facts, offered));
}

void run_evidence(const EvidenceOptions& options) {
  require_sound_options(options);
  if (options.facts) return print_result(built_in_workshop_facts());
  const Facts facts = load_workshop_facts();
  if (changes_something(options))
    change_evidence(options, facts);
  else
    list_evidence(options, facts);
}

}  // namespace

void add_evidence_command(CLI::App& program, Session& /*session*/) {
  const auto options = std::make_shared<EvidenceOptions>();
  CLI::App* command = program.add_subcommand(
      "evidence", "Enter what was found in the workshop, or list what can be entered");
  command->footer(
      "howlpoint evidence whine\n"
      "howlpoint evidence whine fluid-level=low fluid-level-read=as-manual");
  command->add_option("CASE", options->folder, "Folder of the case");
  command
      ->add_option("KEY=VALUE", options->entries,
                   "Facts to enter; without any, they are listed, with how\nto look")
      ->expected(-1);
  command->add_option("--note", options->note, "Anything worth remembering of what is entered")
      ->type_name("TEXT");
  command->add_option("--forget", options->forget, "Take back what was entered; repeat for more")
      ->type_name("KEY")
      ->expected(1)
      ->take_all();
  command->add_flag("--json", options->json, "List as JSON, for other programs");
  command->add_flag("--facts", options->facts,
                    "Print the built-in file of facts, for the shop's own at\n"
                    "~/.config/howlpoint/workshop-facts.toml");
  command->callback([options] { run_evidence(*options); });
}

}  // namespace howl
