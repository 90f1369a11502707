#include "src/cli/utc_time.h"

#include <fmt/chrono.h>

#include <ctime>

namespace howl {

std::string utc_now() {
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(std::time(nullptr)));
}

}  // namespace howl
