// Any bytes as a profile: either refused with an Error, or a profile with at least one probe point.

#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "src/profile/profile.h"
#include "src/errors.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    if (howl::parse_profile(text, "profile.toml").points.empty()) std::abort();
  } catch (const howl::Error&) {
    return 0;
  }
  return 0;
}
