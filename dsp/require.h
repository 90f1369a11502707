#pragma once

#include <stdexcept>

namespace howl {

/// Throws std::invalid_argument, which says `what`, unless `holds`.
inline void require(bool holds, const char* what) {
  if (!holds) throw std::invalid_argument(what);
}

}  // namespace howl
