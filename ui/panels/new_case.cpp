#include <fmt/format.h>

#include <algorithm>
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

float layout_height(const Frame& frame, const Profile& profile, float width) {
  const Fonts& fonts = frame.look.fonts;
  const float room = width - frame.u(24);
  return paragraph_height(fonts.strong, room, profile.title) +
         paragraph_height(fonts.note, room, profile.description) + frame.u(10);
}

void put_layout(Frame& frame, const Profile& profile, const Area& row, bool lit) {
  const Touch touched = touch(frame, "sheet.profile." + profile.name, row);
  const Theme& theme = frame.theme();
  if (lit || touched.over) fill(row, lit ? theme.lit : faded(theme.raised, 0.55F), frame.u(6));
  Area words = row.inset(frame.u(12), frame.u(5));
  words.take_top(put_paragraph(lit ? frame.look.fonts.strong : frame.look.fonts.body, words,
                               theme.ink, profile.title));
  put_paragraph(frame.look.fonts.note, words, theme.quiet, profile.description);
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
      put_layout(frame, profile, rows.take_top(layout_height(frame, profile, rows.w), frame.u(4)),
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
      constexpr float least = 110;
      const float needed =
          wrapped_height(frame, sheet_field_width(frame, rest.w), field(sheet.typed, about.key));
      const Area row =
          sheet_row(frame, rest, about.label, std::max(least, needed / frame.look.unit));
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
