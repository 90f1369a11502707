#include "ui/panels/window_frame.h"

#include <imgui_internal.h>

#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr float kClassFactor = 1.3F;

void begin_root(const Look& look, ImVec2 size) {
  ImGui::SetNextWindowPos({0, 0});
  ImGui::SetNextWindowSize(size);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowRounding, 0);
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
  ImGui::PushStyleColor(ImGuiCol_WindowBg, look.theme.ground);
  ImGui::PushStyleColor(ImGuiCol_ChildBg, 0);
  ImGui::Begin("howlpoint", nullptr,
               ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                   ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus |
                   ImGuiWindowFlags_NoScrollWithMouse | ImGuiWindowFlags_NoNav);
}

void end_root() {
  ImGui::End();
  ImGui::PopStyleColor(2);
  ImGui::PopStyleVar(4);
}

}  // namespace

float unit_of(const Settings& settings) {
  return static_cast<float>(settings.scale) * (settings.class_mode ? kClassFactor : 1.0F);
}

Intentions draw_window(const Desk& desk, const Look& look, Targets& targets, Walk& walk,
                       double seconds) {
  Intentions wishes;
  targets.clear();
  if (ImGui::IsMouseClicked(0)) walk.leave();
  // Nothing public ends the typing in a field that stays.
  if (walk.moved() && ImGui::GetIO().WantTextInput) ImGui::ClearActiveID();
  walk.begin_frame();
  Frame frame{desk.state(), desk.sounds(), look, wishes, targets, walk, seconds};
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  begin_root(look, size);
  draw_desk(frame, {0, 0, size.x, size.y});
  end_root();
  walk.end_frame();
  draw_reached(walk, look.theme.accent, look.unit);
  if (desk.state().to_copy) {
    ImGui::SetClipboardText(desk.state().to_copy->c_str());
    wishes.emplace_back(TableCopied{});
  }
  return wishes;
}

}  // namespace howl::desk
