#include "ui/state/answer.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "src/report/sketch_of.h"
#include "ui/state/sheet.h"
#include "ui/state/steps.h"

namespace howl::desk {
namespace {

std::string times_recorded(std::size_t takes) {
  if (takes == 0) return "not recorded yet";
  return takes == 1 ? "1 take" : fmt::format("{} takes", takes);
}

double ratio_in(const TakeResult& take) {
  return take.rpm_min > 0 ? take.rpm_max / take.rpm_min : 1.0;
}

}  // namespace

Answer answer_of(const Case& value, const Profile& profile, Analysis analysis) {
  Answer answer;
  answer.analysis = std::move(analysis);
  answer.finding = finding_of(answer.analysis);
  answer.finding.what = as_in_sheet(std::move(answer.finding.what));
  answer.finding.where = as_in_sheet(std::move(answer.finding.where));
  answer.sketch = sketch_of(value, profile, answer.analysis);
  return answer;
}

SketchPicture plan_of(const Case& value, const Profile& profile) {
  SketchPicture plan = sketch_of(value, profile, Analysis{});
  for (SketchView& view : plan.views) {
    view.spots.clear();
    for (const ProbePoint& point : all_points(value, profile)) {
      if (!point.place || view_title(point.place->view) != view.title) continue;
      const std::size_t takes = takes_at(value, point.name);
      view.spots.push_back({point.name,
                            times_recorded(takes),
                            {point.place->x, point.place->y},
                            takes > 0 ? std::optional(12.0) : std::nullopt});
    }
  }
  return plan;
}

bool is_of_take(const ToneResult& tone, const std::string& take) {
  return std::ranges::find(tone.takes, take) != tone.takes.end();
}

const ToneResult* find_tone(const Analysis& analysis, const std::string& id) {
  const auto found = std::ranges::find(analysis.tones, id, &ToneResult::id);
  return found == analysis.tones.end() ? nullptr : &*found;
}

const TakeResult* find_take(const Analysis& analysis, const std::string& id) {
  const auto found = std::ranges::find(analysis.takes, id, &TakeResult::id);
  return found == analysis.takes.end() ? nullptr : &*found;
}

double seconds_of(const Take& take) {
  return take.sample_rate > 0 ? static_cast<double>(take.frames) / take.sample_rate : 0;
}

std::optional<std::string> telling_take(const Analysis& analysis, const ToneResult& tone) {
  const TakeResult* best = nullptr;
  for (const std::string& id : tone.takes) {
    const TakeResult* const take = find_take(analysis, id);
    if (take != nullptr && (best == nullptr || ratio_in(*take) > ratio_in(*best) + 0.05))
      best = take;
  }
  return best == nullptr ? std::nullopt : std::optional(best->id);
}

}  // namespace howl::desk
