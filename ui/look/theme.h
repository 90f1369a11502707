#pragma once

#include <imgui.h>

#include <array>
#include <cstddef>

#include "src/report/style.h"

namespace howl::desk {

/// The colours of the window, made from those of the report's pictures (src/report/style.h), so
/// that a tone looks alike on screen and on paper.
struct Theme {
  bool dark{};
  ImU32 ground{};     ///< behind everything
  ImU32 card{};       ///< what holds a panel
  ImU32 raised{};     ///< what can be pressed
  ImU32 lit{};        ///< what is selected: its ground
  ImU32 rule{};       ///< edges, axis lines
  ImU32 grid{};       ///< faint lines of plots
  ImU32 ink{};        ///< text and what matters
  ImU32 quiet{};      ///< text that explains
  ImU32 accent{};     ///< the suspect band, the selection, the main action
  ImU32 on_accent{};  ///< words on it
  ImU32 good{};       ///< done
  ImU32 warn{};       ///< look at it
  ImU32 bad{};        ///< spoilt, an error
  ImU32 shade{};      ///< the suspect band's area
  std::array<ImU32, picture::kMaxSeries> series{};
  /// Colour of a level, from quiet (0) to loud (255); dark themes turn the report's scale round, so
  /// that quiet stays the colour of the ground.
  std::array<ImU32, 256> levels{};
};

/// `strong`: for a projector or bad light; text and lines stand out more.
Theme theme_of(bool dark, bool strong);

ImU32 faded(ImU32 colour, float opacity);

}  // namespace howl::desk
