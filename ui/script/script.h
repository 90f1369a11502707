#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "ui/state/intentions.h"

namespace howl::desk {

// What a script can say beside intentions.
struct WaitForJobs {};
struct PressKey {
  std::string key;
};
struct ClickTarget {
  std::string name;
};
struct HoverTarget {  ///< `across`, `down`: where in it, 0 … 1
  std::string name;
  double across{0.5};
  double down{0.5};
};
struct DragOver {  ///< from one place of a target to another, with the mouse button held
  HoverTarget from;
  double to_across{};
  double to_down{};
};
struct TurnWheel {
  double by{};
};
struct UseMouse {  ///< whether the real mouse counts; a script begins without it
  bool real{};
};
struct SetWindowSize {
  int width{};
  int height{};
};
struct FollowSystemScale {  ///< a script begins without it, so that it looks alike everywhere
  bool on{};
};
struct TakeScreenshot {
  std::filesystem::path file;
};
struct TellTimes {};
struct TellTargets {};
struct ForgetTimes {};
struct Expect {
  std::string what;
  std::string value;
};
struct Until {  ///< waits until it holds, which has to be within kUntilSeconds
  Expect expectation;
};
inline constexpr double kUntilSeconds = 90;
struct Quit {};

struct ScriptLine {
  using Command =
      std::variant<Intention, WaitForJobs, PressKey, ClickTarget, HoverTarget, DragOver, TurnWheel,
                   UseMouse, SetWindowSize, FollowSystemScale, TakeScreenshot, TellTimes,
                   TellTargets, ForgetTimes, Expect, Until, Quit>;
  std::size_t number{};
  std::string text;
  Command command;
};

/// One command a line; '#' begins a comment, and words with spaces stand in double quotes. Paths
/// are taken as they are. Throws Error (command fault) that names the line and what can stand
/// there.
std::vector<ScriptLine> parse_script(std::string_view text, const std::string& where);

/// Every command with its words, for --help.
std::string script_help();

struct DeskState;
/// Why an expectation does not hold; nothing where it does. `targets`: what was drawn.
std::optional<std::string> unmet(const Expect& expectation, const DeskState& state,
                                 const std::vector<std::string>& targets);

}  // namespace howl::desk
