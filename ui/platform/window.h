#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "ui/pictures/tiles.h"

struct GLFWwindow;

namespace howl::desk {

/// What came from outside since the last frame.
struct WindowEvents {
  std::vector<std::string> keys;  ///< named as in ui/state/keys.h; none while text is typed
  std::vector<std::filesystem::path> dropped;
  bool any{};  ///< whether a wait was ended by something, be it the mouse or wake()
};

/// A point that a script puts the mouse to, instead of the real one.
struct ScriptedMouse {
  ImVec2 at{-1e6F, -1e6F};
  bool down{};
  float wheel{};
};

/// Pixels of the window, 0xAARRGGBB, row 0 at the top.
struct WindowPixels {
  int width{};
  int height{};
  std::vector<std::uint32_t> pixels;
};

/// The real window: the only place that knows GLFW and OpenGL. Throws Error (machine fault) where
/// no window can be opened.
class PlatformWindow {
 public:
  PlatformWindow(const std::string& title, int width, int height);
  ~PlatformWindow();
  PlatformWindow(const PlatformWindow&) = delete;
  PlatformWindow& operator=(const PlatformWindow&) = delete;

  Textures& textures();
  bool wants_to_close() const;
  void close();

  /// Waits for events at most so long, 0: not at all.
  WindowEvents events(double most_seconds);
  /// After load_fonts(): the atlas becomes a texture.
  void fonts_changed();
  void begin_frame(const std::optional<ScriptedMouse>& mouse);
  /// After ImGui::Render(): shows it. With `grab`, what is shown is read back.
  std::optional<WindowPixels> show(bool grab);

  void set_size(int width, int height);
  /// Of what is drawn to, in pixels.
  std::pair<int, int> size() const;
  /// Pixels a layout unit that the system wishes for where the window is now (Xft.dpi / 96 under
  /// X11, the monitor's under Wayland, less what the system enlarges by itself); 0.5 … 4.
  double system_scale() const;
  void toggle_whole_screen();
  /// From any thread: ends a wait for events.
  static void wake();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace howl::desk
