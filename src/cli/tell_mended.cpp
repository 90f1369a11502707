#include "src/cli/tell_mended.h"

#include <fmt/format.h>

#include <vector>

#include "src/cli/standard_streams.h"
#include "src/errors.h"
#include "src/keeping/unfinished_take.h"
#include "src/report/text_columns.h"

namespace howl {

namespace {

std::vector<Mending> mended(const std::filesystem::path& folder) {
  try {
    return mend_unfinished(folder);
  } catch (const Error& error) {
    return {{.recording = error.where(),
             .outcome = fmt::format("unfinished recordings there cannot be mended: {}; {}",
                                    error.problem(), error.remedy())}};
  }
}

}  // namespace

void tell_mended(const std::filesystem::path& folder, const Session& session) {
  for (const Mending& mending : mended(folder))
    if (!session.quiet || !mending.settled)
      print_message(printable(fmt::format("{}: {}", mending.recording, mending.outcome)));
}

}  // namespace howl
