// Any bytes as a profile: either refused with an Error, or a profile with at least one probe point,
// whose sources howl at places that are numbers.

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "src/errors.h"
#include "src/profile/expected_lines.h"
#include "src/profile/profile.h"

namespace {

bool is_sound(const howl::Source& source) {
  double shares = 0.0;
  const auto lines = howl::expected_lines(source);
  for (const howl::ExpectedLine& line : lines) {
    if (!(line.at.low > 0.0 && line.at.low <= line.at.high && std::isfinite(line.at.high)))
      return false;
    shares += line.share;
  }
  return lines.empty() || std::abs(shares - 1.0) < 1e-6;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    const howl::Profile profile = howl::parse_profile(text, "profile.toml");
    if (profile.points.empty()) std::abort();
    for (const howl::Source& source : profile.sources)
      if (!is_sound(source)) std::abort();
  } catch (const howl::Error&) {
    return 0;
  }
  return 0;
}
