#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/document/document.h"
#include "src/document/material.h"
#include "src/report/picture_of.h"

namespace howl::document {

/// A picture of the case with its caption, text alternative, figures and warnings. `take_id` as for
/// picture_of(). None where there is nothing to show of that kind.
std::optional<Figure> figure_of(const Material& material, PictureKind kind,
                                const std::optional<std::string>& take_id = std::nullopt);

/// The one picture for the first page: where on the vehicle it is loudest, if a sketch can show
/// that, or else the ranking; none where there is no ranking.
std::optional<Figure> front_figure(const Material& material);

/// The numbers that a picture shows. Curves and maps are cut into fields, each with the highest
/// level in it, as the table's note says.
Table figures_behind(const AnyPicture& picture);

}  // namespace howl::document
