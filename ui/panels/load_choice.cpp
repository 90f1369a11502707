#include "ui/panels/load_choice.h"

#include "ui/look/widgets.h"

namespace howl::desk {

std::optional<std::string> load_button(Frame& frame, const std::string& name, const LoadTest& test,
                                       const std::string& now, Flow& flow) {
  const std::string label = now.empty() ? test.key : test.key + ": " + now;
  const ButtonWords words{.label = label, .on = !now.empty()};
  if (!button(frame, name, flow.next_pixels(button_width(frame, words)), words))
    return std::nullopt;
  return next_load_state(test, now);
}

}  // namespace howl::desk
