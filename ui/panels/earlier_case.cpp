#include <fmt/format.h>

#include <filesystem>
#include <string>

#include "ui/look/widgets.h"
#include "ui/panels/sheet_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

/// Those that were opened before, but for the one that is open.
void put_opened_before(Frame& frame, const Area& area) {
  Area rest = area;
  put_line(frame.look.fonts.label, rest.take_top(line_height(frame.look.fonts.note), frame.u(6)),
           frame.theme().quiet, "Opened before");
  scrolled(frame, "earlier.recent", rest, [&](Area& rows) {
    const auto& recent = frame.state.settings.recent;
    for (std::size_t i = 0; i < recent.size(); ++i) {
      const std::filesystem::path folder(recent[i]);
      if (frame.state.opened && folder == frame.state.opened->folder) continue;
      const Area row = rows.take_top(frame.u(54), frame.u(4));
      const Touch touched = touch(frame, fmt::format("earlier.{}", i), row);
      if (touched.over) fill(row, frame.theme().raised, frame.u(8));
      Area words = row.inset(frame.u(12), frame.u(6));
      put_line(frame.look.fonts.strong, words.take_top(words.h / 2), frame.theme().ink,
               folder.filename().string());
      put_line(frame.look.fonts.note, words, frame.theme().quiet, folder.parent_path().string());
      if (touched.pressed) frame.wish(CompareWith{folder});
    }
  });
}

}  // namespace

void put_earlier_case(Frame& frame, const Area& area, const Sheet& sheet) {
  Area rest = area;
  if (frame.state.settings.recent.size() > 1)
    put_opened_before(frame, rest.take_left(rest.w * 0.36F, frame.u(2 * kGap)));
  put_chooser(frame, rest, sheet);
}

}  // namespace howl::desk
