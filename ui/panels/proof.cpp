#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "src/percent_text.h"
#include "src/profile/load_tests.h"
#include "src/report/number_text.h"
#include "ui/look/widgets.h"
#include "ui/panels/before_after.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

float put_test(Frame& frame, const NextTest& test, std::size_t index, Area area) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  // Which comes first, how long it takes and what it tells apart give the answer away.
  const bool hidden = is_answer_hidden(frame.state);
  const bool lit = !hidden && frame.state.view.next_test == index;
  const float text = area.w - frame.u(hidden ? 20 : 96);
  const float why = hidden ? 0 : paragraph_height(fonts.note, text, test.why);
  const float height =
      std::max(frame.u(kTouch), paragraph_height(fonts.body, text, test.test) + why + frame.u(20));
  area.h = height;
  const Touch touched = touch(frame, fmt::format("test.{}", index), area);
  if (lit || touched.over) fill(area, lit ? theme.lit : faded(theme.raised, 0.5F), frame.u(7));
  Area inner = area.inset(frame.u(10), frame.u(8));
  Area figures = hidden ? Area{} : inner.take_left(frame.u(64), frame.u(12));
  inner.take_top(put_paragraph(fonts.body, inner, theme.ink, test.test));
  if (!hidden) {
    put_line(fonts.strong, figures.take_top(line_height(fonts.body)), theme.ink,
             minutes_words(test.minutes));
    put_line(fonts.note, figures.take_top(line_height(fonts.note)), theme.quiet,
             fmt::format("{:.2f} bit", test.information_bits));
    put_paragraph(fonts.note, inner, theme.quiet, test.why);
  }
  if (touched.pressed && !hidden) frame.wish(ShowTest{index});
  return height + frame.u(4);
}

void put_tests(Frame& frame, const Area& area) {
  const Verdict& verdict = frame.state.analysis()->verdict;
  const Area inner = card(frame, area, "Tests that would settle it",
                          is_answer_hidden(frame.state) ? "" : "most information a minute first");
  if (verdict.next_tests.empty())
    return nothing_to_show(frame, inner, "No test that this program knows would tell more.");
  scrolled(frame, "tests", inner, [&](Area& rows) {
    for (const std::size_t i : listed_tests(frame.state))
      rows.take_top(put_test(frame, verdict.next_tests[i], i, rows));
  });
}

std::string change_words(const LoadChange& change) {
  if (!change.change_db) return "heard in one state at most";
  return typeset(fmt::format("{:+.1f} dB ({} … {})", *change.change_db,
                             fixed_text(change.low_db, 1), fixed_text(change.high_db, 1)));
}

void put_loads(Frame& frame, const Area& area) {
  const Analysis& analysis = *frame.state.analysis();
  Area inner = card(frame, area, "Load tests done", "loaded less unloaded");
  if (analysis.load_changes.empty())
    return nothing_to_show(frame, inner,
                           "None yet. Record one point in both states of a load, at one speed.");
  scrolled(frame, "loads", inner, [&](Area& rows) {
    for (const LoadChange& change : analysis.load_changes) {
      const LoadTest* const test = find_load_test(change.test);
      rows.take_top(put_paragraph(frame.look.fonts.body, rows, frame.theme().ink,
                                  test != nullptr ? test->title : change.test));
      rows.take_top(
          put_paragraph(frame.look.fonts.strong, rows, frame.theme().ink, change_words(change)),
          frame.u(8));
    }
  });
}

void put_repairs(Frame& frame, const Area& area) {
  const Verdict& verdict = frame.state.analysis()->verdict;
  Area inner = card(frame, area, "If it had to be mended now", "least expected cost first");
  if (verdict.repairs.empty()) return nothing_to_show(frame, inner, "No repair is proposed.");
  scrolled(frame, "repairs", inner, [&](Area& rows) {
    const Fonts& fonts = frame.look.fonts;
    for (const RepairOption& repair : verdict.repairs) {
      Area row = rows;
      Area figures = row.take_left(frame.u(72), frame.u(10));
      put_line(fonts.strong, figures.take_top(line_height(fonts.body)), frame.theme().ink,
               percent_text(repair.probability));
      put_line(fonts.note, figures.take_top(line_height(fonts.note)), frame.theme().quiet,
               fmt::format("{:.1f} h", repair.hours));
      const float top = row.y;
      row.take_top(put_paragraph(fonts.body, row, frame.theme().ink, repair.repair));
      row.take_top(put_paragraph(fonts.note, row, frame.theme().quiet, repair.component));
      if (!repair.warning.empty())
        row.take_top(put_paragraph(fonts.note, row, frame.theme().warn, repair.warning));
      rows.take_top(std::max(row.y - top, frame.u(42)), frame.u(10));
    }
  });
}

void put_proof(Frame& frame, Area rest) {
  const Area left = rest.take_left(rest.w * 0.52F, frame.u(kGap));
  put_tests(frame, left);
  put_loads(frame, rest.take_top(rest.h * 0.34F, frame.u(kGap)));
  put_repairs(frame, rest);
}

}  // namespace

void draw_proof(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  // A class has no case to choose.
  const bool chosen = !frame.state.before_after.folder.empty();
  if (frame.state.settings.class_mode && !chosen) return put_proof(frame, area);
  const bool before_after = frame.state.view.before_after;
  constexpr std::array<std::string_view, 2> pages{"Next tests", "Before and after"};
  Area head = rest.take_top(frame.u(kTouch), frame.u(10));
  if (const auto page = choice(frame, "proof.page",
                               head.take_left(std::min(frame.u(330), 0.4F * head.w), frame.u(16)),
                               pages, before_after ? 1 : 0))
    frame.wish(ShowBeforeAfter{*page == 1});
  if (before_after) return draw_before_after(frame, rest, head);
  put_proof(frame, rest);
}

void draw_proof_unanswered(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  put_tests(frame, rest.take_left(rest.w * 0.58F, frame.u(kGap)));
  put_loads(frame, rest);
}

}  // namespace howl::desk
