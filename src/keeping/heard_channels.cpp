#include "src/keeping/heard_channels.h"

#include <fmt/format.h>

#include <variant>
#include <vector>

#include "src/audio/survey.h"
#include "src/errors.h"

namespace howl {
namespace {

std::vector<int> used_channels(const Take& take) {
  std::vector<int> channels{take.channel};
  if (take.reference_channel) channels.push_back(*take.reference_channel);
  if (const auto* tacho = std::get_if<TachoSpeed>(&take.speed)) channels.push_back(tacho->channel);
  return channels;
}

void require_signal(const ChannelSurvey& survey, const std::string& file) {
  if (!survey.constant()) return;
  throw Error(Fault::file, fmt::format("{}, channel {}", file, survey.channel),
              "is digital silence: its samples never change",
              "check that the microphone is connected, and that this is its channel");
}

}  // namespace

void require_sound_in_channels(const std::filesystem::path& recording, const Take& take,
                               const std::string& file) {
  for (const ChannelSurvey& survey : survey_channels(recording, used_channels(take)))
    require_signal(survey, file);
}

}  // namespace howl
