#include "src/audio/survey.h"

#include <doctest/doctest.h>

#include <vector>

#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

using namespace howl;
using namespace howl::test;

TEST_CASE("the survey finds extremes and flat tops channel by channel") {
  const ScratchFolder folder;
  // Channel 1 swings between -0.5 and 0.25. Channel 2 has flat tops of 3 and of 5 samples, a pair
  // of equal peaks (too short to be clipping) and a flat stretch below 0.985.
  std::vector<double> one(8000, 0.25);
  for (std::size_t i = 0; i < one.size(); i += 2) one[i] = -0.5;
  std::vector<double> two(8000, 0.0);
  const auto flat = [&](std::size_t from, std::size_t count, double value) {
    std::fill_n(two.begin() + static_cast<std::ptrdiff_t>(from), count, value);
  };
  flat(100, 3, 0.99);
  flat(200, 5, -1.0);
  flat(300, 2, 0.99);
  flat(400, 50, 0.98);
  std::vector<double> both;
  for (std::size_t i = 0; i < one.size(); ++i) both.insert(both.end(), {one[i], two[i]});
  const auto file =
      write_sound(folder / "both.wav", both,
                  {.format = SF_FORMAT_WAV | SF_FORMAT_FLOAT, .rate = 8000, .channels = 2});

  const std::vector<int> channels{2, 1};
  const auto surveys = survey_channels(file, channels);
  REQUIRE(surveys.size() == 2);
  CHECK(surveys[0].channel == 2);
  CHECK(surveys[0].clipped == 8);
  CHECK(surveys[0].peak() == 1.0F);
  CHECK_FALSE(surveys[0].constant());
  CHECK(surveys[1].lowest == -0.5F);
  CHECK(surveys[1].highest == 0.25F);
  CHECK(surveys[1].clipped == 0);
}
