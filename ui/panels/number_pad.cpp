#include <algorithm>
#include <array>

#include "src/report/scale.h"
#include "ui/look/widgets.h"
#include "ui/panels/record_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr float kKey = 76;
constexpr float kSpace = 8;

void put_keys(Frame& frame, Area area) {
  const std::string& typed = frame.state.record.typed;
  constexpr std::array<std::string_view, 12> keys{"7", "8", "9", "4", "5",      "6",
                                                  "1", "2", "3", "0", "Delete", "Close"};
  for (std::size_t i = 0; i < keys.size(); ++i) {
    const std::size_t row = i / 3;
    const float x = area.x + static_cast<float>(i % 3) * frame.u(kKey + kSpace);
    const float y = area.y + static_cast<float>(row) * frame.u(56 + kSpace);
    const std::string_view key = keys.at(i);
    if (!button(frame, "pad." + std::string(key), {x, y, frame.u(kKey), frame.u(56)},
                {.label = key}))
      continue;
    if (key == "Close")
      frame.wish(TypeSpeed{false, {}});
    else if (key == "Delete")
      frame.wish(TypeSpeed{true, typed.substr(0, typed.empty() ? 0 : typed.size() - 1)});
    else
      frame.wish(TypeSpeed{true, typed + std::string(key)});
  }
}

}  // namespace

void put_number_pad(Frame& frame, const Area& view) {
  const float width = frame.u(3 * kKey + 2 * kSpace + 2 * kPad);
  const float height = frame.u(4 * (56 + kSpace) + 60 + 56 + 40);
  const Area area{view.right() - width - frame.u(kGap),
                  std::max(view.y, view.bottom() - height - frame.u(70)), width,
                  std::min(height, view.h)};
  on_top(frame, "pad", area, [&] {
    fill(area, frame.theme().raised, frame.u(10));
    outline(area, frame.theme().accent, frame.u(10), frame.u(1.5F));
    Area inner = area.inset(frame.u(kPad), frame.u(12));
    const std::string& typed = frame.state.record.typed;
    put_line(frame.look.fonts.figure, inner.take_top(frame.u(48), frame.u(6)), frame.theme().ink,
             (typed.empty() ? "–" : typed) + " rpm", Side::centre);
    const auto rpm = typed_speed(typed);
    if (button(frame, "pad.take", inner.take_bottom(frame.u(52)),
               {.label = rpm || typed.empty() ? "Take it" : "200 … 12 000",
                .look = ButtonLook::main,
                .enabled = rpm.has_value()}))
      frame.wish(TakeTypedSpeed{});
    // Keys lie on the card's own ground, so that each is seen.
    fill({inner.x - frame.u(8), inner.y, inner.w + frame.u(16), frame.u(4 * (56 + kSpace))},
         frame.theme().card, frame.u(8));
    put_keys(frame, {inner.x, inner.y + frame.u(4), inner.w, inner.h});
  });
}

}  // namespace howl::desk
