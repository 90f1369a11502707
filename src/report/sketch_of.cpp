#include "src/report/sketch_of.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/percent_text.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"

namespace howl {
namespace {

using View = SketchPlace::View;

struct ViewWords {
  View view{};
  std::string_view title;
  std::string_view which_way;
  double aspect{};
};
/// About as wide and long, or high, as vehicles are; for the eye only.
constexpr std::array<ViewWords, 3> kViews{
    {{View::front, "Seen from the front", "the vehicle's left is on the right", 1.2},
     {View::below, "Seen from below", "front at the top, the vehicle's left is on the right", 0.55},
     {View::above, "Seen from above", "front at the top, the vehicle's left is on the left",
      0.55}}};

std::optional<SketchPlace> place_among(const std::vector<ProbePoint>& points,
                                       const std::string& name) {
  const auto point = std::ranges::find(points, name, &ProbePoint::name);
  return point == points.end() ? std::nullopt : point->place;
}

std::optional<SketchPlace> place_of(const Case& value, const Profile& profile,
                                    const std::string& name) {
  const auto known = place_among(profile.points, name);
  return known ? known : place_among(value.points, name);
}

/// A level that is only a bound may be too high, so that it says nothing unless it is low.
bool is_compared(const RankedPoint& point) {
  return point.level_db && point.below_loudest_db &&
         !(point.upper_bound && *point.below_loudest_db <= 0.0);
}

/// One point alone is neither the loudest nor has it a chance to be.
std::string level_words(const RankedPoint& point, const Analysis& analysis) {
  if (!is_compared(point)) return point.upper_bound ? "level not known" : "not compared";
  if (!several_measured(analysis))
    return analysis.ranking.size() == 1 ? "the only point so far" : "no other to compare with";
  const std::string below = fixed_text(*point.below_loudest_db, 1) + " dB below";
  if (point.upper_bound) return "at least " + below;
  const std::string chance = percent_text(point.probability_loudest);
  return fmt::format("{}, chance {}", *point.below_loudest_db <= 0.0 ? "loudest" : below, chance);
}

SketchSpot ranked_spot(const RankedPoint& point, const SketchPlace& place,
                       const Analysis& analysis) {
  return {point.point,
          level_words(point, analysis),
          {place.x, place.y},
          is_compared(point) ? point.below_loudest_db : std::nullopt};
}

bool is_ranked(const Analysis& analysis, const std::string& name) {
  return std::ranges::find(analysis.ranking, name, &RankedPoint::point) != analysis.ranking.end();
}

SketchView view_of(const Case& value, const Profile& profile, const Analysis& analysis,
                   const ViewWords& words) {
  SketchView view{std::string(words.title), std::string(words.which_way), words.aspect, {}, {}};
  for (const Outline& outline : profile.outlines) {
    if (outline.view != words.view) continue;
    view.shapes.push_back({outline.label, {}});
    for (const Outline::Corner& corner : outline.corners)
      view.shapes.back().corners.push_back({corner.x, corner.y});
  }
  for (const RankedPoint& point : analysis.ranking) {
    const auto place = place_of(value, profile, point.point);
    if (place && place->view == words.view)
      view.spots.push_back(ranked_spot(point, *place, analysis));
  }
  if (view.spots.empty()) return view;
  for (const ProbePoint& point : profile.points)
    if (point.place && point.place->view == words.view && !is_ranked(analysis, point.name))
      view.spots.push_back({point.name, {}, {point.place->x, point.place->y}, std::nullopt});
  return view;
}

std::vector<std::string> notes_of(const Case& value, const Profile& profile,
                                  const Analysis& analysis) {
  std::vector<std::string> notes;
  std::vector<std::string> homeless;
  for (const RankedPoint& point : analysis.ranking)
    if (!place_of(value, profile, point.point))
      homeless.push_back(fmt::format("{} ({})", point.point, level_words(point, analysis)));
  if (!homeless.empty())
    notes.push_back(fmt::format("Without a place on the sketch: {}.", fmt::join(homeless, "; ")));
  if (!analysis.ranking.empty())
    notes.emplace_back(
        "The chance is that of being the loudest of the points compared, not that the part there "
        "is "
        "at fault.");
  return notes;
}

}  // namespace

std::string_view view_title(SketchPlace::View view) {
  return std::ranges::find(kViews, view, &ViewWords::view)->title;
}

SketchPicture sketch_of(const Case& value, const Profile& profile, const Analysis& analysis) {
  SketchPicture picture;
  picture.title = value.title.empty() ? "Where the howl is loud" : value.title;
  picture.subtitle = analysis.suspect_band
                         ? fmt::format("How loud each probe point is in the suspect band, {}",
                                       band_text(analysis.suspect_band->band))
                         : "No howl was found";
  for (const ViewWords& words : kViews)
    picture.views.push_back(view_of(value, profile, analysis, words));
  picture.notes = notes_of(value, profile, analysis);
  return picture;
}

}  // namespace howl
