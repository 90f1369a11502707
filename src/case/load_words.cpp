#include "src/case/load_words.h"

namespace howl {

std::vector<std::string> load_pairs(const LoadState& load) {
  std::vector<std::string> pairs;
  for (const auto& [key, value] : load) pairs.push_back(key + "=" + value);
  return pairs;
}

}  // namespace howl
