#include "ui/panels/pitch_words.h"

#include <fmt/format.h>

#include "ui/look/text.h"

namespace howl::desk {

std::string pitch_place_words(double hz, double rpm) {
  return fmt::format("{:.0f} Hz · {:.0f} rpm · order {:.2f}", hz, rpm, 60 * hz / rpm);
}

std::string point_words(const TrackPoint& point) {
  return typeset(fmt::format("{} · {:.1f} dB · {}",
                             pitch_place_words(point.frequency_hz, point.rpm), point.level_db,
                             point.take));
}

}  // namespace howl::desk
