#pragma once

#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/case/case.h"
#include "src/profile/profile.h"
#include "src/report/finding.h"
#include "src/report/pictures.h"

namespace howl::desk {

/// An Analysis with what the window shows of it, put into words once and not at every frame.
struct Answer {
  Analysis analysis;
  Finding finding;
  SketchPicture sketch;
};
Answer answer_of(const Case& value, const Profile& profile, Analysis analysis);

/// The sketch before anything is analysed: all probe points with how often each was recorded.
/// Hollow spots were not.
SketchPicture plan_of(const Case& value, const Profile& profile);

bool is_of_take(const ToneResult& tone, const std::string& take);
const ToneResult* find_tone(const Analysis& analysis, const std::string& id);
const TakeResult* find_take(const Analysis& analysis, const std::string& id);

double seconds_of(const Take& take);

/// The take that shows a tone best for looking at: a sweep if there is one, else where it is loud.
std::optional<std::string> telling_take(const Analysis& analysis, const ToneResult& tone);

}  // namespace howl::desk
