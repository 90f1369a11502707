#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

namespace howl {

/// Texts in the order in which they were first said, each once, with what it was said of.
class Gathered {
 public:
  void say(const std::string& about, const std::string& text) {
    const auto same = std::ranges::find(said_, text, &Said::text);
    if (same == said_.end())
      said_.push_back({text, {about}});
    else
      same->about.push_back(about);
  }

  /// "t01 to t03: text"; `list_words` makes one text of a list of what it was said of.
  template <typename ListWords>
  std::vector<std::string> texts(ListWords list_words) const {
    std::vector<std::string> all;
    for (const Said& each : said_)
      all.push_back(fmt::format("{}: {}", list_words(each.about), each.text));
    return all;
  }

 private:
  struct Said {
    std::string text;
    std::vector<std::string> about;
  };
  std::vector<Said> said_;
};

}  // namespace howl
