#include "ui/look/sight.h"

#include <imgui.h>

namespace howl::desk {

void bring_to_sight(const Area& row, std::string_view id) {
  // Rows of another size lie elsewhere.
  const auto picked =
      static_cast<int>(ImGui::GetID(id.data(), id.data() + id.size())) + static_cast<int>(row.h);
  int* const last = ImGui::GetStateStorage()->GetIntRef(ImGui::GetID("brought to sight"), 0);
  if (*last == picked) return;
  *last = picked;
  scroll_to(row);
}

void scroll_to(const Area& row) {
  const float top = ImGui::GetWindowPos().y;
  const bool seen = row.y >= top && row.bottom() <= top + ImGui::GetWindowHeight();
  if (!seen) ImGui::SetScrollFromPosY(row.y + row.h / 2 - top, 0.5F);
}

}  // namespace howl::desk
