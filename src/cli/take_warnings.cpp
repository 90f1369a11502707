#include "src/cli/take_warnings.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <utility>

#include "src/analysis/analyse.h"
#include "src/analysis/quality.h"
#include "src/analysis/speed_check.h"
#include "src/cli/describe.h"
#include "src/cli/standard_streams.h"
#include "src/keeping/add_take.h"
#include "src/profile/load_tests.h"
#include "src/report/text_columns.h"
#include "src/report/text_page.h"
#include "src/speed/found_words.h"

namespace howl {

namespace {

/// The second microphone's channel as if it were the probe's, at the speed that the probe heard.
std::vector<std::string> reference_warnings(const std::filesystem::path& folder, const Take& take,
                                            std::optional<int> cylinders,
                                            std::optional<double> heard_rpm) {
  Take alone = take;
  alone.channel = *take.reference_channel;
  alone.reference_channel.reset();
  std::vector<std::string> of_speed;  // said of the probe's channel already
  TakeAudio reference = open_take(folder, alone, cylinders, of_speed);
  reference.heard_rpm = heard_rpm;
  std::vector<std::string> warnings = warning_texts(judge_quality(reference).findings);
  for (std::string& text : warnings) text.insert(0, "reference channel ");
  return warnings;
}

bool is_among(const std::vector<std::string>& texts, const std::string& text) {
  return std::find(texts.begin(), texts.end(), text) != texts.end();
}

}  // namespace

std::vector<std::string> take_warnings(const std::filesystem::path& folder, const Take& take,
                                       std::optional<int> cylinders) {
  std::vector<std::string> warnings;
  TakeAudio probe = open_take(folder, take, cylinders, warnings);
  std::vector<std::string> against_speed;
  // First, because which lines are the engine's and which are hum depends on its true speed.
  if (!probe.engine_off) check_speed(probe, cylinders, against_speed);
  const std::vector<QualityFinding> findings = judge_quality(probe).findings;
  std::ranges::move(warning_texts(findings), std::back_inserter(warnings));
  if (!spoilt_by_clipping(findings)) std::ranges::move(against_speed, std::back_inserter(warnings));
  if (take.reference_channel)
    std::ranges::move(reference_warnings(folder, take, cylinders, probe.heard_rpm),
                      std::back_inserter(warnings));
  return warnings;
}

void tell_cautions(const Take& planned) {
  for (const std::string& caution : recording_cautions(planned.load, planned.road_speed_kmh))
    print_message("caution: " + caution);
}

void tell_take_warnings(const std::filesystem::path& folder, const Take& take,
                        std::vector<std::string> warnings, const Session& session) {
  if (session.quiet) return;
  for (std::string& warning : take_warnings(folder, take, load_case(folder).cylinders))
    if (!is_among(warnings, warning)) warnings.push_back(std::move(warning));
  for (const std::string& warning : warnings)
    print_message("warning: " + take.id + ": " + printable(warning));
}

std::string found_lines(const FoundSpeed& found, const std::filesystem::path& folder,
                        const std::string& take) {
  return wrapped(found_words(found), 2, page_width) +
         fmt::format("  if that is not so: howlpoint change {} {} --rpm-near N, or --rpm N\n",
                     printable(folder.string()), take);
}

void tell_stored_take(std::string_view deed, const std::filesystem::path& folder,
                      const AddedTake& added, const Session& session) {
  std::string text = std::string(deed) + " " + describe_take(added.take);
  if (added.found) text += found_lines(*added.found, folder, added.take.id);
  print_result(text);
  tell_take_warnings(folder, added.take, added.warnings, session);
}

}  // namespace howl
