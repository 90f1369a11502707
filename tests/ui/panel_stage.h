#pragma once

#include <imgui.h>

#include <set>
#include <string>
#include <vector>

#include "ui/panels/window_frame.h"
#include "ui/state/desk.h"

namespace howl::desk::bench {

/// What is drawn and is no mere words.
inline bool can_be_pressed(const std::string& name, const Area& area) {
  return area.w > 0 && area.h > 0 && !name.starts_with("words.");
}

/// Counts textures instead of making them.
class CountedTextures final : public Textures {
 public:
  ImTextureID make(int, int, std::span<const std::uint32_t>) override {
    ++made;
    return reinterpret_cast<ImTextureID>(++last_);
  }
  void drop(ImTextureID) override { ++dropped; }

  std::size_t made{};
  std::size_t dropped{};

 private:
  std::uintptr_t last_{};
};

/// Dear ImGui without a display: panels are drawn, the mouse is put where a test wants it.
class Stage {
 public:
  explicit Stage(Desk& desk, float width = 1280, float height = 720) : desk_(desk) {
    ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;
    resize(width, height);
    move_mouse({-1e6F, -1e6F});
    follow_settings();
  }
  ~Stage() { ImGui::DestroyContext(); }
  Stage(const Stage&) = delete;
  Stage& operator=(const Stage&) = delete;

  void resize(float width, float height) { ImGui::GetIO().DisplaySize = {width, height}; }

  /// One frame; what was wished meanwhile has been done.
  void frame() {
    follow_settings();
    desk_.poll();
    ImGuiIO& io = ImGui::GetIO();
    io.DeltaTime = 1.0F / 60;
    ImGui::NewFrame();
    const Intentions wishes = draw_window(desk_, look_, targets, walk, seconds);
    ImGui::Render();
    desk_.upload_tiles(textures, 100);
    for (const Intention& wish : wishes) desk_.apply(wish);
  }
  void frames(int count) {
    for (int i = 0; i < count; ++i) frame();
  }

  const Area& area_of(const std::string& name) const { return targets.at(name); }

  void click(const std::string& name) {
    frame();
    const ImVec2 at = area_of(name).centre();
    move_mouse(at);
    frame();
    press_mouse(true);
    frame();
    press_mouse(false);
    frame();
    move_mouse({-1e6F, -1e6F});
    frames(2);
  }

  /// As the window's program takes keys.
  void press_key(const std::string& key) {
    howl::desk::press_key(desk_, walk, key);
    frames(2);
  }

  void drag(ImVec2 from, ImVec2 to) {
    move_mouse(from);
    frame();
    press_mouse(true);
    frame();
    for (int i = 1; i <= 6; ++i) {
      const float share = static_cast<float>(i) / 6;
      move_mouse({from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)});
      frame();
    }
    press_mouse(false);
    frames(2);
  }

  void turn_wheel(ImVec2 at, float by) {
    move_mouse(at);
    frame();
#if IMGUI_VERSION_NUM >= 18700
    ImGui::GetIO().AddMouseWheelEvent(0, by);
#else
    ImGui::GetIO().MouseWheel = by;
#endif
    frames(2);
  }

  static void move_mouse(ImVec2 at) {
#if IMGUI_VERSION_NUM >= 18700
    ImGui::GetIO().AddMousePosEvent(at.x, at.y);
#else
    ImGui::GetIO().MousePos = at;
#endif
  }
  static void press_mouse(bool down) {
#if IMGUI_VERSION_NUM >= 18700
    ImGui::GetIO().AddMouseButtonEvent(0, down);
#else
    ImGui::GetIO().MouseDown[0] = down;
#endif
  }

  Targets targets;
  Walk walk;
  CountedTextures textures;
  double seconds{};  ///< the window's clock

 private:
  void follow_settings() {
    const Settings& settings = desk_.state().settings;
    const float unit = unit_of(settings);
    look_.theme = theme_of(settings.dark, settings.class_mode);
    if (look_.fonts.body != nullptr && unit == look_.unit) return;
    look_.unit = unit;
    look_.fonts = load_fonts(*ImGui::GetIO().Fonts, unit);
    unsigned char* pixels{};
    int width{};
    int height{};
    ImGui::GetIO().Fonts->GetTexDataAsAlpha8(&pixels, &width, &height);
  }

  Desk& desk_;
  Look look_{.theme = {}, .fonts = {}, .unit = 0};
};

}  // namespace howl::desk::bench
