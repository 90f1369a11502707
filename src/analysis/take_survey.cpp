#include "src/analysis/take_survey.h"

#include <algorithm>

#include "src/analysis/hold_survey.h"
#include "src/analysis/sweep_survey.h"

namespace howl {

TakeSurvey survey_take(const TakeAudio& take, std::size_t index) {
  TakeSurvey survey;
  survey.sightings = is_hold(take) ? survey_hold(take, index) : survey_sweep(take, index);
  // Deeper than 16 bits go there are only the traces of arithmetic.
  constexpr double faintest_db = -115.0;
  std::erase_if(survey.sightings, [](const Sighting& s) { return s.level_db < faintest_db; });
  std::stable_sort(survey.sightings.begin(), survey.sightings.end(),
                   [](const Sighting& a, const Sighting& b) {
                     return a.tone_to_noise_db - a.limit_db > b.tone_to_noise_db - b.limit_db;
                   });
  if (survey.sightings.empty()) survey.warnings.push_back("no tone stands out of the noise");
  return survey;
}

}  // namespace howl
