#include "ui/desk_program.h"

#include <fmt/format.h>
#include <imgui.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "src/errors.h"
#include "src/files/read_file.h"
#include "src/record/portaudio_system.h"
#include "src/version.h"
#include "ui/panels/window_frame.h"
#include "ui/platform/save_picture.h"
#include "ui/platform/window.h"
#include "ui/script/script_run.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr std::size_t kLargestScript = 1'000'000;
constexpr double kIdleWait = 0.5;         // s between frames while nothing happens
constexpr double kLivelyWait = 1.0 / 30;  // while something plays or is recorded, or a script waits
constexpr std::size_t kUploads = 4;       // tiles that become textures in a frame

struct Options {
  std::optional<std::filesystem::path> folder;
  std::optional<std::filesystem::path> script;
  bool help{};
  bool version{};
};

Error misused(const std::string& what) {
  return {Fault::command, what, "is not understood", "see: howlpoint-desk --help"};
}

Options parse_options(std::span<const char* const> words) {
  Options options;
  for (std::size_t i = 1; i < words.size(); ++i) {
    const std::string word = words[i];
    if (word == "--help" || word == "-h")
      options.help = true;
    else if (word == "--version")
      options.version = true;
    else if (word == "--script" && i + 1 < words.size())
      options.script = words[++i];
    else if (word.starts_with("-") || options.folder)
      throw misused(word);
    else
      options.folder = word;
  }
  return options;
}

std::string help() {
  return "howlpoint-desk [CASE] [--script FILE]\n\n"
         "The window of Howlpoint: finds what makes a vehicle whine, and where. CASE is the "
         "folder\n"
         "of a case; without one, the window offers those opened before.\n\n"
         "--script FILE drives the window, for tests and pictures. One command a line:\n" +
         script_help();
}

/// Dear ImGui's own state, for as long as it lives.
class ImGuiLife {
 public:
  ImGuiLife() {
    ImGui::CreateContext();
    ImGui::GetIO().IniFilename = nullptr;
  }
  ~ImGuiLife() { ImGui::DestroyContext(); }
  ImGuiLife(const ImGuiLife&) = delete;
  ImGuiLife& operator=(const ImGuiLife&) = delete;
};

class Program {
 public:
  Program(const Options& options, const Settings& settings, bool first_start)
      : scripted_(options.script.has_value()),
        window_("Howlpoint", settings.width, settings.height),
        desk_(settings, PlatformWindow::wake, portaudio_system) {
    if (scripted_)
      script_.emplace(
          parse_script(read_text_file(*options.script, kLargestScript), options.script->string()));
    // Later starts have the size that the window was left at.
    if (first_start) window_.set_size(scaled(settings.width), scaled(settings.height));
    if (options.folder) desk_.apply(OpenCase{*options.folder});
  }

  int run() {
    while (!window_.wants_to_close() && !(script_ && script_->wants_to_quit())) frame();
    keep_settings();
    return script_ && script_->failed() ? 1 : 0;
  }

 private:
  /// Asked anew for each frame: the window may be on another monitor now.
  double system_scale() const {
    const bool wanted = script_ ? script_->follows_system_scale() : true;
    return wanted ? window_.system_scale() : 1.0;
  }
  int scaled(int units) const { return static_cast<int>(std::lround(units * system_scale())); }

  bool idle() { return !desk_.busy() && !more_tiles_ && desk_.sounds().tiles().nothing_wanted(); }

  void frame() {
    const bool waits = script_ && script_->waits_for_jobs();
    const bool lively =
        (script_ && !script_->over() && !waits) || more_tiles_ || lively_frames_ > 0;
    take_events(window_.events(lively ? 0.0 : waits || desk_.lively() ? kLivelyWait : kIdleWait));
    if (desk_.poll()) lively_frames_ = 3;
    if (script_) script_->advance(desk_, window_, targets_, walk_, times_, idle());
    follow_settings();
    more_tiles_ = desk_.upload_tiles(window_.textures(), kUploads);
    window_.begin_frame(script_ ? script_->mouse() : std::nullopt);
    draw();
    show();
    if (lively_frames_ > 0) --lively_frames_;
  }

  void take_events(const WindowEvents& events) {
    for (const std::string& key : events.keys) press(key);
    if (!events.dropped.empty()) desk_.apply(DropFiles{events.dropped});
    if (events.any || !events.keys.empty() || !events.dropped.empty())
      lively_frames_ = std::max(lively_frames_, 2);
  }

  void press(const std::string& key) {
    if (key == "Ctrl+Q") return window_.close();
    if (key == "F11") return window_.toggle_whole_screen();
    press_key(desk_, walk_, key);
  }

  /// Theme, size and strength of what is drawn, where they changed.
  void follow_settings() {
    const Settings& settings = desk_.state().settings;
    const auto [width, height] = window_.size();
    const float unit = unit_in(settings, system_scale(), width, height);
    look_.theme = theme_of(settings.dark, settings.class_mode);
    if (unit == look_.unit && look_.fonts.body != nullptr) return;
    look_.unit = unit;
    look_.fonts = load_fonts(*ImGui::GetIO().Fonts, unit);
    window_.fonts_changed();
  }

  void draw() {
    times_.began();
    ImGui::NewFrame();
    const Intentions wishes = draw_window(desk_, look_, targets_, walk_, ImGui::GetTime());
    ImGui::Render();
    times_.ended();
    for (const Intention& wish : wishes) desk_.apply(wish);
    if (!wishes.empty()) lively_frames_ = 3;
  }

  void show() {
    const auto file = script_ ? script_->screenshot_now() : std::nullopt;
    const auto pixels = window_.show(file.has_value());
    times_.showed(desk_.state().opened != nullptr);
    if (file && pixels) save_picture(*pixels, *file);
  }

  void keep_settings() {
    if (scripted_) return;
    Settings settings = desk_.state().settings;
    std::tie(settings.width, settings.height) = window_.size();
    save_settings(settings_file(), settings);
  }

  bool scripted_;
  FrameTimes times_;
  ImGuiLife imgui_;
  PlatformWindow window_;
  Desk desk_;
  std::optional<ScriptRun> script_;
  Look look_{.theme = {}, .fonts = {}, .unit = 0};
  Targets targets_;
  Walk walk_;
  bool more_tiles_{};
  int lively_frames_{3};
};

/// A script starts from the same settings on every machine.
int run_window(const Options& options) {
  if (options.script) return Program(options, Settings{}, false).run();
  const std::filesystem::path file = settings_file();
  std::error_code problem;
  const bool first_start = !std::filesystem::exists(file, problem);
  return Program(options, load_settings(file), first_start).run();
}

int run_with(std::span<const char* const> words) {
  const Options options = parse_options(words);
  if (options.help || options.version) {
    const std::string text = options.help ? help() : fmt::format("howlpoint-desk {}\n", version);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return 0;
  }
  return run_window(options);
}

}  // namespace

int run_desk_program(int argc, const char* const* argv) {
  try {
    return run_with(std::span(argv, static_cast<std::size_t>(argc)));
  } catch (const Error& error) {
    fmt::print(stderr, "howlpoint-desk: {}\n", error.what());
    return static_cast<int>(error.fault());
  } catch (const std::exception& problem) {
    fmt::print(stderr, "howlpoint-desk: {}\n", problem.what());
    return 3;
  }
}

}  // namespace howl::desk
