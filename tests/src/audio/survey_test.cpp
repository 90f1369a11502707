#include "src/audio/survey.h"

#include <doctest/doctest.h>

#include <vector>

#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

using namespace howl;
using namespace howl::test;

TEST_CASE("the survey finds extremes channel by channel") {
  const ScratchFolder folder;
  // Channel 1 swings between -0.5 and 0.25. Channel 2 rests at 0 but for one sample.
  std::vector<double> one(8000, 0.25);
  for (std::size_t i = 0; i < one.size(); i += 2) one[i] = -0.5;
  std::vector<double> two(8000, 0.0);
  two[200] = -1.0;
  std::vector<double> both;
  for (std::size_t i = 0; i < one.size(); ++i) both.insert(both.end(), {one[i], two[i]});
  const auto file =
      write_sound(folder / "both.wav", both,
                  {.format = SF_FORMAT_WAV | SF_FORMAT_FLOAT, .rate = 8000, .channels = 2});

  const std::vector<int> channels{2, 1};
  const auto surveys = survey_channels(file, channels);
  REQUIRE(surveys.size() == 2);
  CHECK(surveys[0].channel == 2);
  CHECK(surveys[0].lowest == -1.0F);
  CHECK(surveys[0].highest == 0.0F);
  CHECK_FALSE(surveys[0].constant());
  CHECK(surveys[1].lowest == -0.5F);
  CHECK(surveys[1].highest == 0.25F);
}
