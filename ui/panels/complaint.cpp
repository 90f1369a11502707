#include <fmt/format.h>

#include <algorithm>

#include "src/report/number_text.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

void put_fact(Frame& frame, Area& area, std::string_view name, std::string_view value) {
  const Fonts& fonts = frame.look.fonts;
  const float label = frame.u(132);
  Area row = area;
  const Area left = row.take_left(label, frame.u(8));
  put_line(fonts.note, {left.x, left.y, left.w, line_height(fonts.body)}, frame.theme().quiet,
           name);
  const float used = put_paragraph(fonts.body, row, frame.theme().ink, value);
  area.take_top(used, frame.u(7));
}

std::string band_said(const Analysis& analysis) {
  if (!analysis.suspect_band) return "none: nothing howls";
  const SuspectBand& suspect = *analysis.suspect_band;
  return band_text(suspect.band) +
         (suspect.chosen_by_user ? ", chosen by you" : ", chosen by the program");
}

void put_case(Frame& frame, const Area& area) {
  const OpenedCase& opened = *frame.state.opened;
  Area inner = card(frame, area, "The complaint");
  inner.take_top(put_paragraph(frame.look.fonts.title, inner, frame.theme().ink,
                               opened.value.title.empty() ? "Without a title" : opened.value.title),
                 frame.u(14));
  put_fact(frame, inner, "vehicle", opened.profile.title);
  if (!opened.profile.description.empty()) put_fact(frame, inner, "", opened.profile.description);
  if (opened.profile.cylinders)
    put_fact(frame, inner, "engine",
             fmt::format("{} cylinders, {}-stroke; it fires at order {:.1f}",
                         *opened.profile.cylinders, opened.profile.strokes,
                         2.0 * *opened.profile.cylinders / opened.profile.strokes));
  put_fact(frame, inner, "begun", opened.value.created.substr(0, 10));
  if (const Analysis* analysis = frame.state.analysis()) {
    put_fact(frame, inner, "suspect band", band_said(*analysis));
    if (const ToneResult* howl = strongest_howl(*analysis))
      put_fact(frame, inner, "strongest howl", howl->id + ", " + tone_words(*howl));
  }
  put_fact(frame, inner, "folder", opened.folder.string());
}

void put_workshop(Frame& frame, const Area& area) {
  const OpenedCase& opened = *frame.state.opened;
  Area inner = card(frame, area, "Found in the workshop",
                    opened.value.evidence.empty() ? "" : "what was entered");
  if (opened.value.evidence.empty())
    return nothing_to_show(
        frame, inner,
        "Nothing was entered yet: fluid levels, leaks, metal in the pan, fault codes.");
  for (const WorkshopEvidence& found : opened.value.evidence) {
    put_fact(frame, inner, found.key, found.value + (found.note.empty() ? "" : ": " + found.note));
    if (inner.h < frame.u(40)) break;
  }
  if (const Analysis* analysis = frame.state.analysis())
    for (const std::string& remark : analysis->verdict.remarks)
      inner.take_top(put_paragraph(frame.look.fonts.note, inner, frame.theme().quiet, remark),
                     frame.u(6));
}

}  // namespace

void draw_complaint(Frame& frame, const Area& area) {
  Area rest = area;
  const Area left = rest.take_left(rest.w * 0.56F, frame.u(kGap));
  put_case(frame, left);
  put_workshop(frame, rest);
}

}  // namespace howl::desk
