#include "src/cli/take_warnings.h"

#include <utility>

#include "src/analysis/analyse.h"
#include "src/analysis/quality.h"
#include "src/cli/describe.h"
#include "src/cli/standard_streams.h"
#include "src/keeping/add_take.h"
#include "src/report/text_columns.h"

namespace howl {

namespace {

std::vector<std::string> channel_warnings(const std::filesystem::path& folder, const Take& take,
                                          std::optional<int> cylinders) {
  std::vector<std::string> of_speed;  // said by add_take() already
  return warning_texts(judge_quality(open_take(folder, take, cylinders, of_speed)).findings);
}

}  // namespace

std::vector<std::string> take_warnings(const std::filesystem::path& folder, const Take& take,
                                       std::optional<int> cylinders) {
  std::vector<std::string> warnings = channel_warnings(folder, take, cylinders);
  if (!take.reference_channel) return warnings;
  Take reference = take;
  reference.channel = *take.reference_channel;
  reference.reference_channel.reset();
  for (const std::string& text : channel_warnings(folder, reference, cylinders))
    warnings.push_back("reference channel " + text);
  return warnings;
}

void tell_stored_take(std::string_view deed, const std::filesystem::path& folder,
                      const AddedTake& added, const Session& session) {
  print_result(std::string(deed) + " " + describe_take(added.take));
  if (session.quiet) return;
  std::vector<std::string> warnings = added.warnings;
  for (std::string& warning : take_warnings(folder, added.take, load_case(folder).cylinders))
    warnings.push_back(std::move(warning));
  for (const std::string& warning : warnings)
    print_message("warning: " + added.take.id + ": " + printable(warning));
}

}  // namespace howl
