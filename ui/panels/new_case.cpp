#include <fmt/format.h>

#include <vector>

#include "src/case/about.h"
#include "src/profile/profile.h"
#include "ui/look/sight.h"
#include "ui/look/text_field.h"
#include "ui/look/widgets.h"
#include "ui/panels/sheet_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

const std::vector<Profile>& layouts() {
  static const std::vector<Profile> all = list_profiles();
  return all;
}

void put_layout(Frame& frame, const Profile& profile, const Area& row, bool lit) {
  const Touch touched = touch(frame, "sheet.profile." + profile.name, row);
  const Theme& theme = frame.theme();
  if (lit || touched.over) fill(row, lit ? theme.lit : faded(theme.raised, 0.55F), frame.u(6));
  Area words = row.inset(frame.u(12), frame.u(5));
  put_line(lit ? frame.look.fonts.strong : frame.look.fonts.body,
           words.take_top(line_height(frame.look.fonts.body)), theme.ink, profile.title);
  put_line(frame.look.fonts.note, words, theme.quiet, profile.description);
  if (lit) bring_to_sight(row, "sheet.profile." + profile.name);
  if (touched.pressed) frame.wish(TypeInto{"profile", profile.name});
}

}  // namespace

void put_new_case(Frame& frame, const Area& area, const Sheet& sheet) {
  Area rest = area;
  put_field(frame, rest, sheet, "Complaint", "title",
            "in a few words: whine when cold, rises with speed", ImGui::IsWindowAppearing());
  const std::string place = new_case_folder(sheet.typed, usual_place(frame.state)).string();
  put_field(frame, rest, sheet, "Kept in", "folder",
            place.empty() ? "a folder under its name" : std::string_view(place));
  put_line(frame.look.fonts.label, rest.take_top(line_height(frame.look.fonts.label), frame.u(6)),
           frame.theme().quiet, "Which layout is most like the vehicle?");
  scrolled(frame, "sheet.profiles", rest, [&](Area& rows) {
    for (const Profile& profile : layouts())
      put_layout(frame, profile, rows.take_top(frame.u(56), frame.u(4)),
                 field(sheet.typed, "profile") == profile.name);
  });
}

void put_about(Frame& frame, const Area& area, const Sheet& sheet) {
  scrolled(frame, "sheet.about", area, [&](Area& rest) {
    put_field(frame, rest, sheet, "Title", "title", "the complaint in a few words");
    for (const AboutField& about : about_fields) {
      if (about.key != "complaint") {
        put_field(frame, rest, sheet, about.label, about.key, about.help);
        continue;
      }
      const Area row = sheet_row(frame, rest, about.label, 110);
      const Typed typed = text_field(frame, "sheet.complaint", row,
                                     {.text = field(sheet.typed, about.key),
                                      .hint = about.help,
                                      .longest = 8000,
                                      .lines = true});
      if (typed.changed) frame.wish(TypeInto{std::string(about.key), typed.text});
    }
  });
}

}  // namespace howl::desk
