#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace howl {

/// Something that a workshop can look at without a microphone, and how often it is found so. Read
/// from workshop-facts.toml, which a shop can adjust.
struct WorkshopFact {
  /// How likely each value is, and why. Chances of one set sum to 1.
  struct Chances {
    std::map<std::string, double> of;  ///< by value
    std::string basis;                 ///< "common practice: …", or a published source
  };
  std::string key;       ///< "fluid-level"
  std::string question;  ///< "Level of the transmission's fluid"
  std::string how;       ///< how to look, deferring to the service manual
  double minutes{};
  std::vector<std::string> cautions;
  std::vector<std::string> values;  ///< in the order in which they are listed
  /// Facts of one group say partly the same. The strongest counts in full, the others by
  /// `kDependentShare`.
  std::string group;
  Chances usually;                          ///< where a cause has no bearing on it
  std::map<std::string, Chances> if_cause;  ///< by id of a Cause
  std::map<std::string, std::string> says;  ///< by value: what a technician should know of it
};

/// Common practice: what a second fact of the same group is still worth, as a factor on its weight.
inline constexpr double kDependentShare = 0.3;

/// Chance of `value` under `cause`; the usual one where the cause has no bearing on it.
double chance_of(const WorkshopFact& fact, const std::string& cause, const std::string& value);

/// Throws Error (file fault) that names line, key and remedy. `where` names the file.
std::vector<WorkshopFact> parse_workshop_facts(std::string_view toml, const std::string& where);

/// The shop's own file if there is one ($XDG_CONFIG_HOME/howlpoint/workshop-facts.toml, else
/// ~/.config/howlpoint/…), else the one built into the program.
std::vector<WorkshopFact> load_workshop_facts();

}  // namespace howl
