#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace howl {

/// Something that a workshop can look at without a microphone, and how often it is found so. Read
/// from workshop-facts.toml, which a shop can adjust.
struct WorkshopFact {
  /// How likely each value is, and why. Chances of one set sum to 1, and none is 0: nothing that
  /// can be seen in a workshop proves or rules out a cause by itself.
  struct Chances {
    std::map<std::string, double> of;  ///< by value
    std::string basis;                 ///< "common practice: …", or a published source
  };
  /// What another fact's weight is worth, by value of this one: how a level was read decides what
  /// the level says. Factors from 0 (nothing) to 1 (all of it).
  struct Trust {
    std::string in;  ///< key of the other fact
    std::map<std::string, double> by_value;
    double not_entered{};  ///< where nobody said how
    std::string basis;
  };
  std::string key;       ///< "fluid-level": lower-case letters, digits and hyphens, as values too
  std::string question;  ///< "Level of the transmission's fluid"
  std::string how;       ///< how to look, deferring to the service manual
  double minutes{};
  std::vector<std::string> cautions;
  std::vector<std::string> values;  ///< in the order in which they are listed; at least two
  /// Facts of one group say partly the same: together they weigh as much as one and
  /// `kDependentShare` of the others. Empty: independent of all others.
  std::string group;
  Chances usually;                          ///< where a cause has no bearing on it
  std::map<std::string, Chances> if_cause;  ///< by id of a Cause
  std::map<std::string, std::string> says;  ///< by value: what a technician should know of it
  /// By value: what it means by itself, whatever howls; few mean anything. Ends "this means …".
  std::map<std::string, std::string> means;
  std::optional<Trust> trust;  ///< of a fact that tells how another was found out
};

/// Common practice: what a second fact of the same group is still worth, as a factor on its weight.
inline constexpr double kDependentShare = 0.3;

/// Chance of `value` under `cause`; the usual one where the cause has no bearing on it. `value` is
/// one of the fact's.
double chance_of(const WorkshopFact& fact, const std::string& cause, const std::string& value);

/// The fact of that key; null where there is none.
const WorkshopFact* find_fact(std::span<const WorkshopFact> facts, std::string_view key);

/// Factor, 0 to 1, on the weight of the fact `key`, given all that was entered (value by key): 1
/// unless another fact tells how it was found out.
double trust_in(std::span<const WorkshopFact> facts, std::string_view key,
                const std::map<std::string, std::string>& entered);

/// Throws Error (file fault) that names line, key and remedy. `where` names the file.
std::vector<WorkshopFact> parse_workshop_facts(std::string_view toml, const std::string& where);

/// The shop's own file if there is one, else the one built into the program. Throws Error where the
/// shop's file cannot be read or is at fault.
std::vector<WorkshopFact> load_workshop_facts();

/// Where the shop's own file belongs, whether or not it is there:
/// $XDG_CONFIG_HOME/howlpoint/workshop-facts.toml, else ~/.config/howlpoint/… (XDG Base Directory
/// Specification 0.8). None where there is neither variable nor home.
std::optional<std::filesystem::path> shop_facts_file();

/// The text of the built-in file, for a shop to begin its own with.
std::string_view built_in_workshop_facts();

}  // namespace howl
