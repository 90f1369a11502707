#include "ui/panels/load_choice.h"

#include "src/report/result_words.h"
#include "ui/look/widgets.h"

namespace howl::desk {

std::string load_words(const std::string& key, const std::string& value) {
  const LoadTest* const test = find_load_test(key);
  return (test == nullptr ? key : test->name) + ": " + value;
}

std::string load_words(const TakeResult& take) {
  std::string words = road_text(take);  // first: what has no room is cut at the end
  const auto say = [&](const std::string& more) { words += (words.empty() ? "" : ", ") + more; };
  if (take.background && !take.engine_off) say("background");
  for (const auto& [key, value] : take.load) say(load_words(key, value));
  return words.empty() ? "–" : words;
}

std::optional<std::string> load_button(Frame& frame, const std::string& name, const LoadTest& test,
                                       const std::string& now, Flow& flow) {
  const std::string label = now.empty() ? test.name : load_words(test.key, now);
  const ButtonWords words{.label = label, .on = !now.empty()};
  if (!button(frame, name, flow.next_pixels(button_width(frame, words)), words))
    return std::nullopt;
  return next_load_state(test, now);
}

}  // namespace howl::desk
