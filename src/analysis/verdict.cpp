#include "src/analysis/verdict.h"

namespace howl {

std::string suspect_name(const Suspect& suspect) {
  return suspect.source.empty() ? suspect.component : suspect.source;
}

std::string_view inquiry_name(Inquiry inquiry) {
  switch (inquiry) {
    case Inquiry::enough:
      return "enough";
    case Inquiry::not_by_sound:
      return "not by sound";
    case Inquiry::go_on:
      break;
  }
  return "go on";
}

}  // namespace howl
