#pragma once

#include <array>
#include <filesystem>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace howl::desk {

inline constexpr std::array<double, 7> kScales{0.85, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5};
inline constexpr std::size_t kMostRecent = 8;

/// What the window remembers from one day to the next.
struct Settings {
  bool dark{true};
  /// Of everything that is drawn, in relation to what the system wishes for the monitor;
  /// kScales.front() … kScales.back()
  double scale{1.0};
  bool class_mode{};  ///< large and strong, for a projector
  int width{1280};
  int height{800};
  double volume_db{-24};            ///< of what is played, against the recording; begins low, and
                                    ///< never above 0 on another day
  std::vector<std::string> recent;  ///< folders of cases, newest first
  std::string looked_into;          ///< where files were chosen last
  /// Folders of cases after a repair, each with that of the case before; newest first.
  std::vector<std::pair<std::string, std::string>> earlier;

  friend bool operator==(const Settings&, const Settings&) = default;
};

/// The next of kScales above or below one, or the last.
double next_scale(double scale, bool larger);

/// Puts `folder` first and keeps the newest kMostRecent.
void remember_case(Settings& settings, const std::string& folder);

/// The case before that `after` is compared with; empty where none is remembered.
std::string earlier_of(const Settings& settings, const std::string& after);
/// Keeps the newest kMostRecent; an empty `before` forgets.
void remember_earlier(Settings& settings, const std::string& after, const std::string& before);

/// As text and back; unknown or senseless lines are passed over, so that files of other versions
/// can be read.
std::string settings_text(const Settings& settings);
Settings parse_settings(std::string_view text);

/// $XDG_CONFIG_HOME/howlpoint/desk.ini, else ~/.config/… (XDG Base Directory Specification 0.8);
/// empty where there is neither.
std::filesystem::path settings_file();
/// The defaults where there is no file or it cannot be read: settings are no reason not to start.
Settings load_settings(const std::filesystem::path& file);
/// Throws Error.
void save_settings(const std::filesystem::path& file, const Settings& settings);

}  // namespace howl::desk
