#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "src/percent_text.h"
#include "src/report/suspect_words.h"
#include "ui/look/widgets.h"
#include "ui/panels/about_line.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr double kFullWeightDb = 15;

/// One piece of evidence: a bar from the middle, to the right where it speaks for the suspect.
float put_evidence(Frame& frame, const EvidenceItem& item, Area area) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const float bars = frame.u(132);
  const float figure = frame.u(62);
  const float text = area.w - bars - figure - frame.u(16);
  const float height =
      std::max(line_height(fonts.note), paragraph_height(fonts.note, text, item.text));
  Area row = area.take_top(height);
  Area scale = row.take_left(bars, frame.u(8));
  const float middle = scale.x + scale.w / 2;
  const float line = scale.y + line_height(fonts.note) / 2;
  const auto share = static_cast<float>(std::clamp(item.weight_db / kFullWeightDb, -1.0, 1.0));
  const float length = share * (scale.w / 2 - frame.u(2));
  const float thick = frame.u(9);
  fill({std::min(middle, middle + length), line - thick / 2, std::abs(length), thick},
       item.weight_db > 0 ? theme.good : theme.bad, frame.u(2));
  hairline({middle, scale.y - frame.u(2)}, {middle, scale.y + line_height(fonts.note) + frame.u(2)},
           theme.rule, frame.u(1.2F));
  Area number = row.take_left(figure, frame.u(8));
  number.h = line_height(fonts.note);
  put_line(fonts.label, number, theme.ink,
           fmt::format("{}{:.0f} dB", item.weight_db > 0 ? "+" : "−", std::abs(item.weight_db)),
           Side::right);
  put_paragraph(fonts.note, row, theme.ink, item.text);
  return height + frame.u(5);
}

/// What is told of a suspect.
enum class Account { none, brief, full };

/// The faults that would make it howl, each with its chance if it is this one.
float put_causes(Frame& frame, const Suspect& suspect, Area area) {
  constexpr std::size_t most_causes = 6;
  constexpr double least_chance = 0.02;
  const Theme& theme = frame.theme();
  ImFont* const font = frame.look.fonts.note;
  const float top = area.y;
  put_line(font, area.take_top(line_height(font), frame.u(2)), theme.quiet, "If so, because of");
  std::size_t number = 0;
  for (const Suspect::Cause& cause : suspect.causes) {
    const double chance = cause.probability / suspect.probability;
    if (number == most_causes || (number > 0 && chance < least_chance)) break;
    Area row = area.take_top(line_height(font), frame.u(4));
    const Area meter = row.take_left(frame.u(132), frame.u(8));
    put_meter({meter.x, meter.y + meter.h / 2 - frame.u(2.5F), meter.w, frame.u(5)},
              static_cast<float>(chance), theme.quiet, faded(theme.grid, 0.8F));
    put_line(frame.look.fonts.label, row.take_left(frame.u(62), frame.u(8)), theme.ink,
             percent_text(chance), Side::right);
    put_line(font, row, theme.ink, cause.id);
    frame.targets.insert_or_assign("words.cause." + suspect_name(suspect) + "." + cause.id, row);
    ++number;
  }
  return area.y - top;
}

float put_evidence_of(Frame& frame, const Suspect& suspect, Area area) {
  const float top = area.y;
  for (const EvidenceItem& item : telling_evidence(suspect))
    area.take_top(put_evidence(frame, item, area));
  if (const auto rest = weight_of_the_rest_db(suspect)) {
    const float height =
        put_evidence(frame, {"rest", "all else that was found, together", *rest}, area);
    frame.targets.insert_or_assign("words.rest." + suspect_name(suspect), area.take_top(height));
  }
  return area.y - top;
}

float put_suspect(Frame& frame, const Suspect& suspect, Area area, bool first, Account account) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const float top = area.y;
  Area head = area.take_top(frame.u(first ? 36 : 26), frame.u(3));
  const float figure = frame.u(first ? 92 : 62);
  put_line(first ? fonts.figure : fonts.strong, head.take_left(figure, frame.u(8)),
           first ? theme.accent : theme.ink, percent_text(suspect.probability));
  put_line(first ? fonts.title : fonts.strong, head, theme.ink, suspect_name(suspect));
  put_meter(area.take_top(frame.u(5), frame.u(8)), static_cast<float>(suspect.probability),
            first ? theme.accent : theme.quiet, faded(theme.grid, 0.8F));
  if (account != Account::none) area.take_top(put_evidence_of(frame, suspect, area));
  const std::string cause = cause_words(suspect);
  if (account == Account::full && !cause.empty()) {
    area.take_top(frame.u(4));
    area.take_top(put_causes(frame, suspect, area));
  } else if (account == Account::brief && !cause.empty()) {
    area.take_top(put_paragraph(fonts.note, area, theme.quiet, "If so, " + cause));
  }
  return area.y - top + frame.u(14);
}

void put_suspects(Frame& frame, const Area& area) {
  const Verdict& verdict = frame.state.analysis()->verdict;
  const Area inner = card(frame, area, "Suspects",
                          verdict.about_words.empty() ? "" : "for " + verdict.about_words);
  if (verdict.suspects.empty())
    return nothing_to_show(frame, inner,
                           verdict.conclusion.empty()
                               ? "Nothing howls, or the profile names no source that could."
                               : as_in_sheet(verdict.conclusion));
  constexpr std::size_t most_accounts = 3;
  constexpr std::size_t most_suspects = 8;
  // With room, more of them are named, and each is accounted for.
  constexpr float roomy = 560;
  const bool in_full = inner.h > frame.u(roomy);
  const std::size_t least = in_full ? most_suspects : most_accounts;
  scrolled(frame, "suspects", inner, [&](Area& rows) {
    for (const std::string& text : verdict.contradictions)
      rows.take_top(put_paragraph(frame.look.fonts.strong, rows, frame.theme().warn, text),
                    frame.u(8));
    std::size_t number = 0;
    for (const Suspect& suspect : suspects_worth_naming(verdict, least, most_suspects)) {
      const bool told = number == 0 || (number < most_accounts && suspect.probability >= 0.02);
      rows.take_top(put_suspect(frame, suspect, rows, number == 0,
                                in_full ? Account::full
                                : told  ? Account::brief
                                        : Account::none));
      ++number;
    }
    put_paragraph(frame.look.fonts.note, rows, frame.theme().quiet,
                  "Weights: 10 dB make a suspect ten times likelier against the others.");
    rows.take_top(frame.u(40));
  });
}

}  // namespace

void draw_what(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  const Answer& answer = *frame.state.answer;
  const Verdict& verdict = answer.analysis.verdict;
  std::string finding =
      verdict.conclusion.empty() ? answer.finding.what : as_in_sheet(verdict.conclusion);
  for (const std::string& sentence : verdict.whatever_howls) finding += " " + sentence;
  const auto vehicle = [&] {
    put_sketch(frame, card(frame, rest, "On the vehicle"), sketch_to_show(frame));
  };
  // Lower than this, one part is shown at a time; lower still, the answer in words is one of them.
  constexpr float low = 480;
  constexpr float lowest = 430;
  const bool in_turn = area.h < frame.u(low);
  const bool words_too = area.h < frame.u(lowest);
  if (!words_too) rest.take_top(put_finding(frame, rest, finding), frame.u(kGap));
  put_about_line(frame, rest);
  if (in_turn) {
    constexpr std::array<std::string_view, 3> names{"Suspects", "On the vehicle", "In words"};
    const std::size_t shown =
        put_parts_in_turn(frame, rest, std::span(names).first(words_too ? 3 : 2));
    if (shown == 0) return put_suspects(frame, rest);
    if (shown == 1) return vehicle();
    return put_in_words(frame, rest, finding);
  }
  put_suspects(frame, rest.take_left(rest.w * 0.58F, frame.u(kGap)));
  vehicle();
}

}  // namespace howl::desk
