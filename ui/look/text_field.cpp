#include "ui/look/text_field.h"

#include <imgui_internal.h>

#include <algorithm>
#include <functional>
#include <string>
#include <vector>

#include "ui/look/shapes.h"
#include "ui/look/sight.h"
#include "ui/look/text.h"
#include "ui/look/wrapped_field.h"

namespace howl::desk {
namespace {

int hash_of(const std::string& text) { return static_cast<int>(std::hash<std::string>{}(text)); }

ImGuiID shown_key(std::string_view name) {
  return ImGui::GetID((std::string(name) + ".shown").c_str());
}

/// The field's name in Dear ImGui: another one after each change that was not typed, because a
/// field that is open would write its old text over the new one.
std::string id_of(std::string_view name, const std::string& text) {
  const std::string key(name);
  ImGuiStorage& storage = *ImGui::GetStateStorage();
  const ImGuiID version_key = ImGui::GetID((key + ".version").c_str());
  int version = storage.GetInt(version_key);
  if (storage.GetInt(shown_key(name)) != hash_of(text)) storage.SetInt(version_key, ++version);
  storage.SetInt(shown_key(name), hash_of(text));
  return "##" + key + "." + std::to_string(version);
}

void put_hint(Frame& frame, const Area& area, const FieldWords& words) {
  ImFont* const font = frame.look.fonts.body;
  const ImU32 colour = faded(frame.theme().quiet, 0.75F);
  if (words.lines)
    put_paragraph(font, area.inset(frame.u(kFieldPad)), colour, words.hint);
  else
    put_line(font, area.inset(frame.u(10), 0), colour, words.hint);
}

}  // namespace

bool is_key_of_field(std::string_view key) {
  if (key == "Tab" || key == "Shift+Tab" || key == "Ctrl+Enter") return false;
  if (key != "Up" && key != "Down") return true;
  const ImGuiInputTextState* const typed = ImGui::GetInputTextState(ImGui::GetActiveID());
  if (typed == nullptr) return true;
#if IMGUI_VERSION_NUM >= 19105
  return typed->Stb->single_line == 0;
#else
  return typed->Stb.single_line == 0;
#endif
}

Typed text_field(Frame& frame, std::string_view name, const Area& area, const FieldWords& words) {
  // What is there already is never cut.
  std::vector<char> typed(std::max(words.longest, words.text.size()) + 1, '\0');
  std::ranges::copy(words.text, typed.begin());
  const Theme& theme = frame.theme();
  ImFont* const font = frame.look.fonts.body;
  const float across = frame.u(10);
  const float above = words.lines ? frame.u(kFieldPad) : (area.h - font->FontSize) / 2;
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
  const std::string id = id_of(name, words.text);
  Typed result;
  result.changed = words.lines ? wrapped_input(frame, id.c_str(), typed, area)
                               : ImGui::InputText(id.c_str(), typed.data(), typed.size());
  result.finished = ImGui::IsItemDeactivatedAfterEdit();
  const bool open = ImGui::IsItemActive();
  ImGui::PopItemFlag();
  ImGui::PopStyleVar(2);
  ImGui::PopStyleColor(3);
  ImGui::PopFont();
  outline(area, open ? theme.accent : theme.rule, frame.u(6), frame.u(open ? 1.5F : 1.0F));
  result.text = typed.data();
  if (!open && !words.lines && text_width(font, result.text) > area.w - 2 * across)
    tell_whole(font, area, result.text);
  if (result.changed) ImGui::GetStateStorage()->SetInt(shown_key(name), hash_of(result.text));
  if (result.text.empty() && !words.hint.empty()) put_hint(frame, area, words);
  frame.targets.insert_or_assign(std::string(name), area);
  return result;
}

}  // namespace howl::desk
