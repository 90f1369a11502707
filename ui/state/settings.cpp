#include "ui/state/settings.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <optional>

#include "src/errors.h"
#include "src/files/durable_file.h"
#include "src/files/read_file.h"
#include "src/files/user_folders.h"

namespace howl::desk {
namespace {

constexpr std::size_t kLargestFile = 100'000;

std::optional<double> number_in(std::string_view text) {
  double value{};
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

void set_number(std::string_view text, double low, double high, double& value) {
  if (const auto number = number_in(text)) value = std::clamp(*number, low, high);
}

void set_size(std::string_view text, int& value) {
  if (const auto number = number_in(text))
    value = static_cast<int>(std::clamp(*number, 640.0, 16384.0));
}

void set_one(Settings& settings, std::string_view key, std::string_view value) {
  if (key == "theme") settings.dark = value != "light";
  if (key == "scale") set_number(value, kScales.front(), kScales.back(), settings.scale);
  if (key == "class") settings.class_mode = value == "on";
  if (key == "volume") set_number(value, -60, 0, settings.volume_db);
  if (key == "width") set_size(value, settings.width);
  if (key == "height") set_size(value, settings.height);
  if (key == "looked-into") settings.looked_into = value;
  if (key == "recent" && !value.empty() && settings.recent.size() < kMostRecent)
    settings.recent.emplace_back(value);
  const auto tab = value.find('\t');
  if (key == "earlier" && tab != std::string_view::npos && settings.earlier.size() < kMostRecent)
    settings.earlier.emplace_back(value.substr(0, tab), value.substr(tab + 1));
}

}  // namespace

double next_scale(double scale, bool larger) {
  double wanted = larger ? kScales.back() : kScales.front();
  for (const double each : kScales) {
    if (larger && each > scale + 1e-9) wanted = std::min(wanted, each);
    if (!larger && each < scale - 1e-9) wanted = std::max(wanted, each);
  }
  return wanted;
}

void remember_case(Settings& settings, const std::string& folder) {
  std::erase(settings.recent, folder);
  settings.recent.insert(settings.recent.begin(), folder);
  if (settings.recent.size() > kMostRecent) settings.recent.resize(kMostRecent);
}

std::string earlier_of(const Settings& settings, const std::string& after) {
  for (const auto& [one, before] : settings.earlier)
    if (one == after) return before;
  return {};
}

void remember_earlier(Settings& settings, const std::string& after, const std::string& before) {
  std::erase_if(settings.earlier, [&](const auto& pair) { return pair.first == after; });
  if (before.empty()) return;
  settings.earlier.insert(settings.earlier.begin(), {after, before});
  if (settings.earlier.size() > kMostRecent) settings.earlier.resize(kMostRecent);
}

std::string settings_text(const Settings& settings) {
  std::string text = fmt::format("theme={}\nscale={}\nclass={}\nwidth={}\nheight={}\nvolume={}\n",
                                 settings.dark ? "dark" : "light", settings.scale,
                                 settings.class_mode ? "on" : "off", settings.width,
                                 settings.height, settings.volume_db);
  if (!settings.looked_into.empty() && settings.looked_into.find('\n') == std::string::npos)
    text += "looked-into=" + settings.looked_into + "\n";
  for (const std::string& folder : settings.recent)
    if (folder.find('\n') == std::string::npos) text += "recent=" + folder + "\n";
  for (const auto& [after, before] : settings.earlier)
    if ((after + before).find_first_of("\n\t") == std::string::npos)
      text += "earlier=" + after + "\t" + before + "\n";
  return text;
}

Settings parse_settings(std::string_view text) {
  Settings settings;
  while (!text.empty()) {
    const auto end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const auto equals = line.find('=');
    if (equals != std::string_view::npos)
      set_one(settings, line.substr(0, equals), line.substr(equals + 1));
  }
  return settings;
}

std::filesystem::path settings_file() {
  const auto configuration = configuration_folder();
  return configuration ? *configuration / "howlpoint" / "desk.ini" : std::filesystem::path{};
}

Settings load_settings(const std::filesystem::path& file) {
  std::error_code problem;
  if (file.empty() || !std::filesystem::exists(file, problem)) return {};
  try {
    return parse_settings(read_text_file(file, kLargestFile));
  } catch (const Error&) {
    return {};
  }
}

void save_settings(const std::filesystem::path& file, const Settings& settings) {
  if (file.empty()) return;
  std::error_code problem;
  std::filesystem::create_directories(file.parent_path(), problem);
  replace_file(file, settings_text(settings));
}

}  // namespace howl::desk
