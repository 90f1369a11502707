#include "ui/state/before_after.h"

#include <system_error>

#include "src/report/finding.h"
#include "ui/state/desk.h"

namespace howl::desk {

bool offers_comparison(const DeskState& state) {
  if (!state.opened || !state.answer || !state.before_after.folder.empty()) return false;
  if (state.settings.class_mode || state.quiz || state.opened->value.takes.empty()) return false;
  const bool mended = state.opened->truth && state.opened->truth->repaired;
  return mended || strongest_howl(state.answer->analysis) == nullptr;
}

std::string comparison_words(const DeskState& state) {
  const BeforeAfter& now = state.before_after;
  if (now.comparison) return std::string(change_name(now.comparison->howl));
  if (!now.fault.empty()) return "failed";
  return now.job ? "working" : "none";
}

}  // namespace howl::desk
