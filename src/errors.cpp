#include "src/errors.h"

#include <utility>

namespace howl {

Error::Error(Fault fault, std::string where, std::string what, std::string remedy)
    : std::runtime_error(where + ": " + what + "; " + remedy),
      fault_(fault),
      where_(std::move(where)),
      problem_(std::move(what)),
      remedy_(std::move(remedy)) {}

}  // namespace howl
