#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "src/report/finding.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

/// What the bar can begin by itself.
struct Action {
  std::string_view name;
  std::string_view label;
  Intention wish;
};

/// What the bar says: a headline, the rest of the sentence, and how long it takes.
struct Proposal {
  std::string head;
  std::string rest;
  std::string_view flag{"Do next"};
  std::string minutes;
  const NextTest* test{};
  std::size_t number{};
  std::size_t count{};
  std::vector<Action> actions;  ///< the main one first
};

/// A test is one sentence; where it begins with its name and a colon, that is the headline.
Proposal proposal_of(const NextTest& test) {
  Proposal proposal;
  const auto colon = test.test.find(": ");
  const bool named = colon != std::string::npos && colon < 70;
  proposal.head = named ? test.test.substr(0, colon) : test.test;
  if (named) proposal.rest = test.test.substr(colon + 2);
  proposal.minutes = minutes_words(test.minutes);
  proposal.test = &test;
  return proposal;
}

Proposal said(std::string head, std::string rest) {
  Proposal proposal;
  proposal.head = std::move(head);
  proposal.rest = std::move(rest);
  return proposal;
}

/// The next point that nobody has probed; not where it can be recorded already.
void offer_to_record_next(const DeskState& state, Proposal& proposal) {
  const std::string next = next_unprobed(state.opened->value, state.opened->profile).value_or("");
  const RecordState& record = state.record;
  const bool ready = state.view.step == Step::record && !record.takes_shown &&
                     (next.empty() || record.plan.point == next);
  if (!ready) proposal.actions.push_back({"next.record", "Record", RecordPoint{next}});
}

/// While takes of one point only are there, no test tells where it howls.
Proposal another_point(const DeskState& state) {
  const auto next = next_unprobed(state.opened->value, state.opened->profile);
  Proposal proposal =
      said("Record another probe point",
           fmt::format("Only one is there, so nothing can be compared{}. At the same engine speed.",
                       next ? "; the next is: " + *next : std::string()));
  offer_to_record_next(state, proposal);
  if (!state.answer->analysis.suspect_band)
    proposal.actions.push_back({"next.band", "Give a band", BeginSheet{.kind = SheetKind::band}});
  return proposal;
}

/// What a test asks for is done in a step of its own.
Action action_of(const NextTest& test) {
  constexpr std::string_view fact = "fact:";
  constexpr std::string_view point = "point:";
  if (test.id.starts_with(fact))
    return {"next.enter", "Enter it", ShowFact{test.id.substr(fact.size())}};
  return {"next.record", "Record it",
          RecordPoint{test.id.starts_with(point) ? test.id.substr(point.size()) : ""}};
}

Proposal without_answer(const DeskState& state) {
  if (state.opened == nullptr)
    return said("Begin a case, or open one", "Recordings can also be dropped on this window.");
  if (state.opened->value.takes.empty()) {
    Proposal proposal = said("Record the first probe point",
                             "Ten seconds or so at a steady engine speed, the probe held still.");
    offer_to_record_next(state, proposal);
    return proposal;
  }
  if (!state.jobs.empty()) return said("Wait a moment", "The takes are being analysed.");
  return said("Look at what went wrong", "There is no answer yet.");
}

Proposal without_howl() {
  Proposal proposal =
      said("No howl was found",
           "Where it is still heard: give its band, and the points are compared in it.");
  proposal.actions.push_back({"next.band", "Give a band", BeginSheet{.kind = SheetKind::band}});
  return proposal;
}

Proposal comparison_offer(const Analysis& analysis) {
  const bool howls = strongest_howl(analysis) != nullptr;
  Proposal proposal =
      said(howls ? "Compare with the case before the repair" : "No howl was found: after a repair?",
           howls ? "It says what is gone, what stayed and what is new."
                 : "Compare with the case before. Where it is still heard, give its band.");
  proposal.actions.push_back(
      {"next.before", "Compare", BeginSheet{.kind = SheetKind::earlier_case}});
  if (!howls)
    proposal.actions.push_back({"next.band", "Give a band", BeginSheet{.kind = SheetKind::band}});
  return proposal;
}

/// What the comparison with the case before comes to; none where the next tests say it better.
std::optional<Proposal> after_comparison(const DeskState& state) {
  const BeforeAfter& now = state.before_after;
  if (now.folder.empty()) return std::nullopt;
  const bool howls = strongest_howl(state.answer->analysis) != nullptr;
  if (!now.comparison) {
    if (howls && !now.job) return std::nullopt;
    Proposal proposal =
        said(now.job ? "Wait a moment" : "Compare with the case before the repair",
             now.job ? "The two cases are being compared." : now.folder.filename().string());
    if (!now.job) proposal.actions.push_back({"next.before", "Compare", ShowBeforeAfter{true}});
    return proposal;
  }
  if (now.comparison->howl == ToneChange::gone && !howls) {
    Proposal proposal =
        said("The howl is gone", "The report can be written, with before and after.");
    if (state.view.step != Step::report)
      proposal.actions.push_back({"next.report", "Report", GoTo{Step::report}});
    return proposal;
  }
  const bool open = now.comparison->howl == ToneChange::undetermined;
  if (!open || now.comparison->record_next.empty()) return std::nullopt;
  Proposal proposal = said("Record more, to prove it", now.comparison->record_next.front());
  proposal.actions.push_back({"next.record", "Record", GoTo{Step::record}});
  return proposal;
}

Proposal without_test(const DeskState& state) {
  const std::string& conclusion = state.answer->analysis.verdict.conclusion;
  Proposal proposal =
      said("Nothing more to test by this program",
           conclusion.empty() ? state.answer->finding.what : as_in_sheet(conclusion));
  proposal.flag = "So far";
  if (state.view.step != Step::report)
    proposal.actions.push_back({"next.report", "Report", GoTo{Step::report}});
  return proposal;
}

Proposal proposal_now(const DeskState& state) {
  if (!state.answer) return without_answer(state);
  if (state.answer_outdated)
    return said("Wait a moment", "What is shown is from before your last change.");
  const Verdict& verdict = state.answer->analysis.verdict;
  if (offers_comparison(state)) return comparison_offer(state.answer->analysis);
  if (auto proposal = after_comparison(state)) return *std::move(proposal);
  if (probed_one_only(state.opened->value)) return another_point(state);
  if (verdict.next_tests.empty() && !state.answer->analysis.suspect_band) return without_howl();
  if (verdict.next_tests.empty()) return without_test(state);
  const std::size_t number = std::min(state.view.next_test, verdict.next_tests.size() - 1);
  Proposal proposal = proposal_of(verdict.next_tests[number]);
  proposal.number = number;
  proposal.count = verdict.next_tests.size();
  return proposal;
}

void put_flag(Frame& frame, Area area, const Proposal& proposal) {
  const Fonts& fonts = frame.look.fonts;
  const float name = line_height(fonts.strong);
  const bool timed = !proposal.minutes.empty();
  area.y += (area.h - name - (timed ? line_height(fonts.body) : 0)) / 2;
  const bool enough =
      frame.state.answer && frame.state.answer->analysis.verdict.state == Inquiry::enough;
  const bool surer = enough && proposal.test != nullptr;
  put_line(fonts.strong, area.take_top(name), frame.theme().accent,
           surer ? "To be surer" : proposal.flag);
  if (timed)
    put_line(fonts.body, area.take_top(line_height(fonts.body)), frame.theme().ink,
             proposal.minutes);
}

void put_browse(Frame& frame, Area area, const Proposal& proposal) {
  const float side = frame.u(kTouch);
  area.y += (area.h - side) / 2;
  area.h = side;
  const auto step = [&](std::string_view name, Sign sign, std::size_t to) {
    if (button(frame, name, area.take_left(side, frame.u(4)),
               {.label = "", .sign = sign, .look = ButtonLook::bare}))
      frame.wish(ShowTest{to});
  };
  step("next.back", Sign::back, (proposal.number + proposal.count - 1) % proposal.count);
  put_line(frame.look.fonts.label, area.take_left(frame.u(40), frame.u(4)), frame.theme().quiet,
           fmt::format("{} of {}", proposal.number + 1, proposal.count), Side::centre);
  step("next.next", Sign::next, (proposal.number + 1) % proposal.count);
}

void put_actions(Frame& frame, Area& area, const std::vector<Action>& actions) {
  const float high = frame.u(48);
  for (const Action& action : actions) {
    const bool main = &action == &actions.front();
    const ButtonWords words{.label = action.label,
                            .look = main ? ButtonLook::main : ButtonLook::plain};
    const Area place = area.take_right(button_width(frame, words), frame.u(10));
    if (button(frame, action.name, {place.x, place.y + (place.h - high) / 2, place.w, high}, words))
      frame.wish(action.wish);
  }
}

void put_caution(Frame& frame, Area area, const std::vector<std::string>& cautions) {
  const float side = frame.u(15);
  const Area sign = area.take_left(side, frame.u(7));
  put_sign({sign.x, sign.y + (sign.h - side) / 2, side, side}, Sign::warning, frame.theme().warn);
  std::string words = cautions.front();
  if (cautions.size() > 1) words += fmt::format("  (and {} more)", cautions.size() - 1);
  put_line(frame.look.fonts.label, area, frame.theme().warn, words);
}

/// A headline in two lines at most; what follows it has the room that is left. 'How' tells it all.
void put_sentence(Frame& frame, Area area, const Proposal& proposal) {
  area = area.inset(0, frame.u(5));
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const bool warned = proposal.test != nullptr && !proposal.test->cautions.empty();
  const float note = line_height(fonts.note);
  const float head = std::min(paragraph_height(fonts.strong, area.w, proposal.head),
                              2 * line_height(fonts.strong));
  const float caution = warned ? note : 0;
  const float lines = std::floor((area.h - head - caution) / note);
  const float rest =
      proposal.rest.empty() || lines < 1
          ? 0
          : std::min(lines * note, paragraph_height(fonts.note, area.w, proposal.rest));
  area.take_top((area.h - head - rest - caution) / 2);
  const Area headline = area.take_top(head);
  frame.targets.insert_or_assign("words.headline", headline);
  put_paragraph(fonts.strong, headline, theme.ink, proposal.head);
  if (rest > 0) put_paragraph(fonts.note, area.take_top(rest), theme.quiet, proposal.rest);
  if (warned) put_caution(frame, area.take_top(note), proposal.test->cautions);
}

float details_height(const Frame& frame, const NextTest& test, float width) {
  const Fonts& fonts = frame.look.fonts;
  float height = frame.u(44) + paragraph_height(fonts.body, width, test.test) +
                 2 * line_height(fonts.note) + paragraph_height(fonts.note, width, test.why);
  for (const std::string& caution : test.cautions)
    height += frame.u(8) + paragraph_height(fonts.strong, width - frame.u(26), caution);
  return height + frame.u(48 + 12);
}

void put_details(Frame& frame, const NextTest& test, const Area& area) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  fill(area, theme.card, frame.u(10));
  outline(area, theme.accent, frame.u(10), frame.u(1.3F));
  Area inner = area.inset(frame.u(20), frame.u(16));
  const Action action = action_of(test);
  const ButtonWords words{.label = action.label, .look = ButtonLook::main};
  Area foot = inner.take_bottom(frame.u(48), frame.u(12));
  if (button(frame, action.name, foot.take_left(button_width(frame, words)), words))
    frame.wish(action.wish);
  const std::string gain =
      fmt::format("It {}; {:.2f} bit of information.", test.why, test.information_bits);
  scrolled(frame, "next.words", inner, [&](Area& rows) {
    rows.take_top(put_paragraph(fonts.body, rows, theme.ink, test.test), frame.u(6));
    rows.take_top(put_paragraph(fonts.note, rows, theme.quiet, gain), frame.u(10));
    for (const std::string& caution : test.cautions) {
      Area line = rows;
      const float sign = frame.u(17);
      const Area at = line.take_left(sign, frame.u(9));
      put_sign({at.x, at.y + frame.u(2), sign, sign}, Sign::warning, theme.warn);
      rows.take_top(put_paragraph(fonts.strong, line, theme.warn, caution), frame.u(8));
    }
  });
  // Behind the button and the words: what is below the card is not to be pressed through it.
  touch_place(frame, "next.details", area);
}

}  // namespace

void draw_next_bar(Frame& frame, const Area& area) {
  const Theme& theme = frame.theme();
  const Proposal proposal = proposal_now(frame.state);
  fill(area, theme.card, frame.u(10));
  outline(area, faded(theme.accent, 0.55F), frame.u(10), frame.u(1.3F));
  Area inner = area.inset(frame.u(14), 0);
  const Area flag = inner.take_left(frame.u(92), frame.u(14));
  put_flag(frame, flag, proposal);
  hairline({flag.right() + frame.u(2), area.y + frame.u(14)},
           {flag.right() + frame.u(2), area.bottom() - frame.u(14)}, theme.rule);
  if (proposal.test != nullptr) {
    const ButtonWords more{.label = frame.state.view.cautions_shown ? "Close" : "How",
                           .look = ButtonLook::main};
    const Area how = inner.take_right(frame.u(92), frame.u(10));
    const float high = frame.u(48);
    if (button(frame, "next.how", {how.x, how.y + (how.h - high) / 2, how.w, high}, more))
      frame.wish(ShowCautions{!frame.state.view.cautions_shown});
    if (proposal.count > 1) put_browse(frame, inner.take_right(frame.u(140), frame.u(6)), proposal);
  }
  put_actions(frame, inner, proposal.actions);
  put_sentence(frame, inner, proposal);
}

void draw_next_details(Frame& frame, const Area& view) {
  const Proposal proposal = proposal_now(frame.state);
  if (!frame.state.view.cautions_shown || proposal.test == nullptr) return;
  Area rest = view;
  const float height = details_height(frame, *proposal.test, view.w - frame.u(40));
  const Area area = rest.take_bottom(std::min(height, view.h));
  on_top(frame, "details", area, [&] { put_details(frame, *proposal.test, area); });
}

}  // namespace howl::desk
