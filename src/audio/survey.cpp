#include "src/audio/survey.h"

#include <algorithm>
#include <cmath>

#include "src/audio/recording.h"

namespace howl {

namespace {

constexpr float clipping_level = 0.985F;
constexpr std::int64_t clipping_run = 3;
constexpr std::size_t chunk = 65'536;

/// Counts samples of one channel that sit flat at an extreme.
class ClipCounter {
 public:
  void add(float sample) {
    run_ = std::abs(sample) < clipping_level ? 0 : sample == last_ ? run_ + 1 : 1;
    last_ = sample;
    if (run_ == clipping_run)
      clipped_ += clipping_run;
    else if (run_ > clipping_run)
      ++clipped_;
  }
  std::int64_t clipped() const { return clipped_; }

 private:
  float last_{};
  std::int64_t run_{};
  std::int64_t clipped_{};
};

ChannelSurvey survey_channel(Recording& recording, int channel) {
  ChannelSurvey survey{.channel = channel};
  ClipCounter clips;
  std::vector<float> samples(chunk);
  bool first = true;
  while (const std::size_t got = recording.read(channel, samples)) {
    if (first) survey.lowest = survey.highest = samples.front();
    first = false;
    for (const float sample : std::span(samples).first(got)) {
      survey.lowest = std::min(survey.lowest, sample);
      survey.highest = std::max(survey.highest, sample);
      clips.add(sample);
    }
  }
  survey.clipped = clips.clipped();
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
