#include "src/cli/session.h"

namespace howl {

Progress Session::progress() {
  if (quiet) return [](double, std::string_view) {};
  return [this](double fraction, std::string_view stage) { progress_line.show(fraction, stage); };
}

}  // namespace howl
