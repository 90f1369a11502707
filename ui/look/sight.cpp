#include "ui/look/sight.h"

#include <imgui.h>

#include <algorithm>
#include <cmath>

namespace howl::desk {

void bring_to_sight(const Area& row, std::string_view id, float step) {
  // Rows of another size lie elsewhere.
  const auto picked =
      static_cast<int>(ImGui::GetID(id.data(), id.data() + id.size())) + static_cast<int>(row.h);
  int* const last = ImGui::GetStateStorage()->GetIntRef(ImGui::GetID("brought to sight"), 0);
  if (*last == picked) return;
  *last = picked;
  scroll_to(row, step);
}

void scroll_to(const Area& row, float step) {
  const float top = ImGui::GetWindowPos().y;
  const float height = ImGui::GetWindowHeight();
  if (row.y >= top && row.bottom() <= top + height) return;
  float scroll = ImGui::GetScrollY() + row.y - top - (height - row.h) / 2;
  if (step > 0) scroll = std::round(scroll / step) * step;
  ImGui::SetScrollY(std::max(0.0F, scroll));
}

}  // namespace howl::desk
