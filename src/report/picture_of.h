#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>

#include "src/analysis/analyse.h"
#include "src/profile/profile.h"
#include "src/report/pictures.h"

namespace howl {

enum class PictureKind { spectrogram, orders, pitch, ranking, spectrum, sketch, suspects };

/// Samples of a spectrogram's block: a sweep's tones move, so its blocks are shorter.
std::size_t spectrogram_block(const TakeAudio& take);

/// One picture of a case, from its profile and an analysis at hand. `take_id` names the take to
/// show; without it, take_to_show(). Pitch, ranking, sketch and suspects are of the whole case.
/// Throws Error: unknown take, nothing to show, a recording that cannot be read.
AnyPicture picture_of(const std::filesystem::path& folder, const Case& value,
                      const Profile& profile, const Analysis& analysis, PictureKind kind,
                      const std::optional<std::string>& take_id);

/// For spectrogram and orders the sweep, or else the take, in which the first tone is loudest; for
/// spectrum the loudest point's take; none for pictures of the whole case. Throws Error where there
/// is no take in which the suspect works.
std::optional<std::string> take_to_show(const Analysis& analysis, PictureKind kind);

/// Analyses the case, and draws one picture of it to a file (.png, .svg, .pdf).
void draw_picture(const std::filesystem::path& folder, const Case& value, PictureKind kind,
                  const std::optional<std::string>& take_id, const AnalysisRequest& request,
                  const std::filesystem::path& out, const Progress& progress);

}  // namespace howl
