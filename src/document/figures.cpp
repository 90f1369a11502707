#include "src/document/figures.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "src/errors.h"
#include "src/report/closer_view.h"
#include "src/report/finding.h"
#include "src/report/number_text.h"
#include "src/report/warning_words.h"

namespace howl::document {
namespace {

const Take* take_of_id(const Case& value, const std::string& id) {
  const auto found = std::ranges::find(value.takes, id, &Take::id);
  return found == value.takes.end() ? nullptr : &*found;
}

std::string kind_words(PictureKind kind) {
  switch (kind) {
    case PictureKind::spectrogram:
      return "Level over time and frequency";
    case PictureKind::orders:
      return "Level over order and engine speed";
    case PictureKind::pitch:
      return "Pitch against engine speed";
    case PictureKind::ranking:
      return "Levels of the probe points in the suspect band";
    case PictureKind::spectrum:
      return "Level over frequency";
    case PictureKind::sketch:
      return "Levels of the probe points on a sketch of the vehicle";
    case PictureKind::suspects:
      return "What may make the howl, with what speaks for and against it";
  }
  return {};
}

/// Takes that a picture of the whole case rests on.
std::vector<std::string> takes_behind(const Material& material, PictureKind kind) {
  std::vector<std::string> ids;
  const auto add = [&](const std::vector<std::string>& more) {
    for (const std::string& id : more)
      if (std::ranges::find(ids, id) == ids.end()) ids.push_back(id);
  };
  if (kind == PictureKind::ranking || kind == PictureKind::sketch)
    for (const RankedPoint& point : material.analysis.ranking) add(point.takes);
  if (kind == PictureKind::pitch)
    for (const ToneResult& tone : material.analysis.tones) add(tone.takes);
  std::ranges::sort(ids);
  return ids;
}

std::vector<std::string> warnings_for(const Material& material, PictureKind kind,
                                      const std::optional<std::string>& take_id) {
  if (kind == PictureKind::suspects) return material.analysis.verdict.contradictions;
  std::vector<std::string> all =
      warnings_of_takes(material.analysis, take_id ? std::vector<std::string>{*take_id}
                                                   : takes_behind(material, kind));
  if (kind == PictureKind::ranking || kind == PictureKind::sketch)
    std::ranges::move(warnings_of_points(material.analysis), std::back_inserter(all));
  return all;
}

std::string caption_of(const Material& material, PictureKind kind,
                       const std::optional<std::string>& take_id) {
  if (!take_id) return kind_words(kind);
  const Take* const take = take_of_id(material.value, *take_id);
  return fmt::format("{}: take {} at {}", kind_words(kind), *take_id,
                     take != nullptr ? take->point : "");
}

/// What the picture says in words; its numbers are in the table behind it.
std::string alternative_of(const Material& material, PictureKind kind, const std::string& caption) {
  const Finding finding = finding_of(material.analysis);
  switch (kind) {
    case PictureKind::ranking:
    case PictureKind::sketch:
      return caption + ". " + finding.where;
    case PictureKind::suspects:
      return caption + ". " + material.analysis.verdict.conclusion;
    case PictureKind::spectrogram:
    case PictureKind::orders:
    case PictureKind::pitch:
    case PictureKind::spectrum:
      break;
  }
  return caption + ". " + finding.what;
}

/// The title of the case stands on every page; here the take, or what is shown, is the title.
template <class Picture>
void retitle(Picture& picture) {
  if (picture.subtitle.empty()) return;
  picture.title = std::exchange(picture.subtitle, std::string{});
}

constexpr double widest_front_view = 1.5;

/// Only the view in which the loudest point lies; none if it has no place.
std::optional<SketchPicture> view_of_loudest(const Material& material, SketchPicture sketch) {
  if (material.analysis.ranking.empty()) return std::nullopt;
  const std::string& loudest = material.analysis.ranking.front().point;
  const auto shows = [&](const SketchView& view) {
    return std::ranges::any_of(view.spots, [&](const SketchSpot& spot) {
      return spot.point == loudest && !spot.words.empty();
    });
  };
  const auto view = std::ranges::find_if(sketch.views, shows);
  if (view == sketch.views.end()) return std::nullopt;
  sketch.views = {closer_view(*view, widest_front_view)};
  return sketch;
}

}  // namespace

std::optional<Figure> figure_of(const Material& material, PictureKind kind,
                                const std::optional<std::string>& take_id) {
  const Analysis& analysis = material.analysis;
  std::optional<std::string> shown = take_id;
  try {
    if (!shown) shown = take_to_show(analysis, kind);
  } catch (const Error&) {
    return std::nullopt;  // no take in which the suspect works
  }
  Figure figure;
  figure.picture =
      picture_of(material.folder, material.value, material.profile, analysis, kind, shown);
  std::visit([](auto& picture) { retitle(picture); }, figure.picture);
  figure.caption = caption_of(material, kind, shown);
  figure.alternative = alternative_of(material, kind, figure.caption);
  figure.warnings = warnings_for(material, kind, shown);
  figure.behind = figures_behind(figure.picture);
  return figure;
}

std::optional<Figure> front_figure(const Material& material) {
  if (material.analysis.ranking.empty()) return std::nullopt;
  auto figure = figure_of(material, PictureKind::sketch);
  auto view = view_of_loudest(material, std::get<SketchPicture>(figure->picture));
  if (view) {
    view->brief = true;
    view->notes.clear();
    figure->picture = *view;
    figure->behind = figures_behind(figure->picture);
  } else {
    figure = figure_of(material, PictureKind::ranking);
  }
  figure->gives_way = true;
  figure->warnings.clear();  // they stand under Probe points, with the full picture
  if (!warnings_for(material, PictureKind::ranking, std::nullopt).empty())
    figure->warnings = {"There are warnings about these levels: see Probe points."};
  return figure;
}

}  // namespace howl::document
