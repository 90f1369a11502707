#include "src/audio/survey.h"

#include <algorithm>

#include "src/audio/recording.h"

namespace howl {

namespace {

constexpr std::size_t chunk = 65'536;

ChannelSurvey survey_channel(Recording& recording, int channel) {
  ChannelSurvey survey{.channel = channel};
  std::vector<float> samples(chunk);
  bool first = true;
  while (const std::size_t got = recording.read(channel, samples)) {
    if (first) survey.lowest = survey.highest = samples.front();
    first = false;
    for (const float sample : std::span(samples).first(got)) {
      survey.lowest = std::min(survey.lowest, sample);
      survey.highest = std::max(survey.highest, sample);
    }
  }
  return survey;
}

}  // namespace

std::vector<ChannelSurvey> survey_channels(const std::filesystem::path& file,
                                           std::span<const int> channels) {
  std::vector<ChannelSurvey> surveys;
  for (const int channel : channels) {
    Recording recording(file);
    surveys.push_back(survey_channel(recording, channel));
  }
  return surveys;
}

}  // namespace howl
