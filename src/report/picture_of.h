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

/// Draws one picture of a case to a file (.png, .svg, .pdf). `take_id` names the take to show;
/// without it: for spectrogram and orders the sweep, or else the take, in which the first tone is
/// loudest; for spectrum the loudest point's take. Pitch, ranking, sketch and suspects are of the
/// whole case. Throws Error: unknown take, nothing to show, file cannot be written.
void draw_picture(const std::filesystem::path& folder, const Case& value, PictureKind kind,
                  const std::optional<std::string>& take_id, const AnalysisRequest& request,
                  const std::filesystem::path& out, const Progress& progress);

/// The same from the case's profile and an analysis at hand.
void draw_picture(const std::filesystem::path& folder, const Case& value, const Profile& profile,
                  const Analysis& analysis, PictureKind kind,
                  const std::optional<std::string>& take_id, const std::filesystem::path& out,
                  const Progress& progress);

}  // namespace howl
