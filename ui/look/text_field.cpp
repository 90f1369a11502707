#include "ui/look/text_field.h"

#include <imgui_internal.h>

#include <algorithm>
#include <functional>
#include <string>
#include <vector>

#include "ui/look/shapes.h"
#include "ui/look/sight.h"
#include "ui/look/text.h"

namespace howl::desk {
namespace {

/// The field's name in Dear ImGui: another one after each change that was not typed, because a
/// field that is open would write its old text over the new one.
std::string id_of(std::string_view name, const std::string& text, int** shown) {
  const std::string key(name);
  ImGuiStorage& storage = *ImGui::GetStateStorage();
  *shown = storage.GetIntRef(ImGui::GetID((key + ".shown").c_str()));
  int& version = *storage.GetIntRef(ImGui::GetID((key + ".version").c_str()));
  const auto now = static_cast<int>(std::hash<std::string>{}(text));
  if (now != **shown) ++version;
  **shown = now;
  return "##" + key + "." + std::to_string(version);
}

}  // namespace

Typed text_field(Frame& frame, std::string_view name, const Area& area, const FieldWords& words) {
  // What is there already is never cut.
  std::vector<char> typed(std::max(words.longest, words.text.size()) + 1, '\0');
  std::ranges::copy(words.text, typed.begin());
  const Theme& theme = frame.theme();
  ImFont* const font = frame.look.fonts.body;
  const float across = frame.u(10);
  const float above = words.lines ? frame.u(8) : (area.h - font->FontSize) / 2;
  ImGui::PushFont(font);
  ImGui::PushStyleColor(ImGuiCol_FrameBg, theme.raised);
  ImGui::PushStyleColor(ImGuiCol_Text, theme.ink);
  ImGui::PushStyleColor(ImGuiCol_TextSelectedBg, theme.lit);
  ImGui::PushStyleVar(ImGuiStyleVar_FrameRounding, frame.u(6));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {across, above});
  ImGui::SetCursorScreenPos(area.from());
  ImGui::SetNextItemWidth(area.w);
  frame.walk.pass(name, area);
  const bool arrived = frame.walk.arrived(name);
  if (arrived) scroll_to(area);
  const bool begins = words.begin || arrived;
  if (begins) ImGui::SetKeyboardFocusHere();
  // Tab goes through all that the walk does, not fields alone.
  ImGui::PushItemFlag(ImGuiItemFlags_NoTabStop, !begins);
  int* shown{};
  const std::string id = id_of(name, words.text, &shown);
  Typed result;
  result.changed =
      words.lines ? ImGui::InputTextMultiline(id.c_str(), typed.data(), typed.size(), area.size())
                  : ImGui::InputText(id.c_str(), typed.data(), typed.size());
  result.finished = ImGui::IsItemDeactivatedAfterEdit();
  const bool open = ImGui::IsItemActive();
  ImGui::PopItemFlag();
  ImGui::PopStyleVar(2);
  ImGui::PopStyleColor(3);
  ImGui::PopFont();
  outline(area, open ? theme.accent : theme.rule, frame.u(6), frame.u(open ? 1.5F : 1.0F));
  result.text = typed.data();
  if (result.changed) *shown = static_cast<int>(std::hash<std::string>{}(result.text));
  if (result.text.empty() && !words.hint.empty())
    put_line(font,
             {area.x + across, area.y + (words.lines ? above : 0), area.w - 2 * across,
              words.lines ? line_height(font) : area.h},
             faded(theme.quiet, 0.75F), words.hint);
  frame.targets.insert_or_assign(std::string(name), area);
  return result;
}

}  // namespace howl::desk
