#include "ui/panels/window_frame.h"

#include <imgui_internal.h>

#include <algorithm>
#include <cmath>

#include "ui/look/text.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"

namespace howl::desk {
namespace {

constexpr float kClassFactor = 1.3F;

// Units of a window in which everything is as large as the system wishes, and the least there can
// be.
constexpr double kUsualWidth = 1280;
constexpr double kUsualHeight = 800;
constexpr double kLeastWidth = 960;
constexpr double kLeastHeight = 540;
constexpr double kLargest = 1.5;

/// Down to a step, so that a typeface is not made anew with every pixel that a window grows by.
double stepped(double factor, double step) { return step * std::floor(factor / step + 1e-6); }

double growth_in(double width, double height) {
  const double larger = std::min(width / kUsualWidth, height / kUsualHeight);
  return std::clamp(stepped(std::pow(larger, 0.75), 0.125), 1.0, kLargest);
}

void begin_root(const Look& look, ImVec2 size) {
  ImGui::SetNextWindowPos({0, 0});
  ImGui::SetNextWindowSize(size);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowRounding, 0);
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
  ImGui::PushStyleColor(ImGuiCol_WindowBg, look.theme.ground);
  ImGui::PushStyleColor(ImGuiCol_ChildBg, 0);
  // Of what is told beside the mouse.
  ImGui::PushStyleColor(ImGuiCol_PopupBg, look.theme.raised);
  ImGui::PushStyleColor(ImGuiCol_Border, look.theme.rule);
  ImGui::PushStyleColor(ImGuiCol_Text, look.theme.ink);
  ImGui::Begin("howlpoint", nullptr,
               ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                   ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus |
                   ImGuiWindowFlags_NoScrollWithMouse | ImGuiWindowFlags_NoNav);
}

void end_root() {
  ImGui::End();
  ImGui::PopStyleColor(5);
  ImGui::PopStyleVar(4);
}

}  // namespace

float unit_of(const Settings& settings) {
  return static_cast<float>(settings.scale) * (settings.class_mode ? kClassFactor : 1.0F);
}

float unit_in(const Settings& settings, double system_scale, int width, int height) {
  const double unit = static_cast<double>(unit_of(settings)) * system_scale *
                      growth_in(width / system_scale, height / system_scale);
  const double most = std::min(width / kLeastWidth, height / kLeastHeight);
  return static_cast<float>(std::min(unit, std::max(0.5, stepped(most, 1.0 / 32))));
}

bool press_key(Desk& desk, Walk& walk, std::string_view key) {
  // In a field of one line arrows go through the list of a sheet, and nowhere else.
  const bool arrow = key == "Up" || key == "Down" || key == "Ctrl+Enter";
  if (arrow && ImGui::GetIO().WantTextInput && !desk.state().sheet) return false;
  const bool plot = is_plot(walk.reached());
  auto wish = plot ? wish_of_plot_key(key, walk.reached()) : std::nullopt;
  // A plot is nothing to be pressed: there Space plays, as elsewhere.
  if (!wish && !(plot && key == "Space") && walk_by_key(walk, key)) return true;
  if (!wish) wish = wish_of_key(key, desk.state());
  if (wish) desk.apply(*wish);
  return wish.has_value();
}

Intentions draw_window(const Desk& desk, const Look& look, Targets& targets, Walk& walk,
                       double seconds) {
  Intentions wishes;
  targets.clear();
  if (ImGui::IsMouseClicked(0)) walk.leave();
  // Nothing public ends the typing in a field that stays.
  if (walk.moved() && ImGui::GetIO().WantTextInput) ImGui::ClearActiveID();
  walk.begin_frame();
  Frame frame{desk.state(), desk.sounds(), look,    wishes,
              targets,      walk,          seconds, walk.follow_mouse(ImGui::GetIO().MousePos)};
  ReachedByKeys reached;
  if (const Walk::Place* const place = walk.place()) reached.area = place->area;
  ImGui::GetIO().UserData = &reached;
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  begin_root(look, size);
  draw_desk(frame, {0, 0, size.x, size.y});
  end_root();
  ImGui::GetIO().UserData = nullptr;
  walk.end_frame();
  draw_reached(walk, {look.theme.ink, look.theme.ground}, look.unit);
  if (desk.state().to_copy) {
    ImGui::SetClipboardText(desk.state().to_copy->c_str());
    wishes.emplace_back(TableCopied{});
  }
  return wishes;
}

}  // namespace howl::desk
