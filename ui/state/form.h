#pragma once

#include <array>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/entry/typed_take.h"

namespace howl {
class Error;
}

namespace howl::desk {

/// What is wrong with what was entered, for the place where it was.
struct FieldFault {
  std::string problem;
  std::string remedy;
  friend bool operator==(const FieldFault&, const FieldFault&) = default;
};

/// Fields that are filled in one by one and used together. What was refused stays as it was typed,
/// with its fault beside it.
struct Form {
  std::map<std::string, std::string, std::less<>> text;
  std::map<std::string, FieldFault, std::less<>> faults;

  const std::string& get(std::string_view field) const;  ///< empty where nothing was entered
  const FieldFault* fault(std::string_view field) const;
  /// Its fault goes: it was about another text.
  void enter(const std::string& field, const std::string& entered);
};

/// The form of a take: fields "point", "new-point", "speed" (a key of speed_choices()), "rpm",
/// "ramp", "log", "tacho", "pulses", "near", "load.KEY" for each load test, "loads", "road-speed",
/// "channel", "reference", "background" ("on" or empty), "note".
struct SpeedChoice {
  std::string_view key;    ///< "steady"
  std::string_view label;  ///< "Steady"
};
inline constexpr std::array<SpeedChoice, 6> speed_choices{{{"steady", "Steady"},
                                                           {"ramp", "Ramp"},
                                                           {"log", "Log"},
                                                           {"tacho", "Tacho"},
                                                           {"sound", "By the sound"},
                                                           {"off", "Engine off"}}};

TypedTake typed_take_of(const Form& form);
Form form_of(const Take& take);
/// What has to be said before the take can be stored: "point", "speed"; empty if nothing.
std::vector<std::string> missing_in(const Form& form);
/// The field of such a form that an Error is about; "" where it is about the whole.
std::string field_of(const Error& error);
/// Everything but what belongs to one recording: its note and its log.
void copy_facts(const Form& from, Form& to);

}  // namespace howl::desk
