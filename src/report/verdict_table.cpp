#include "src/report/verdict_table.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstddef>
#include <map>
#include <set>
#include <vector>

#include "src/percent_text.h"
#include "src/report/number_text.h"
#include "src/report/suspect_words.h"
#include "src/report/text_columns.h"
#include "src/report/text_page.h"

namespace howl {
namespace {

constexpr std::size_t most_suspects = 4;
constexpr std::size_t most_tests = 4;
constexpr std::size_t most_repairs = 6;

std::string contradictions_section(const Verdict& verdict) {
  std::string text;
  for (const std::string& contradiction : verdict.contradictions)
    text += wrapped(contradiction, 2, page_width);
  return text.empty() ? text : heading("This does not fit together") + text;
}

std::string weight_text(double weight_db) { return fmt::format("{:+.0f} dB", weight_db); }

std::string evidence_lines(const Suspect& suspect) {
  std::string text;
  for (const EvidenceItem& item : telling_evidence(suspect))
    text +=
        wrapped_item(fmt::format("{:>6}  ", weight_text(item.weight_db)), item.text, 6, page_width);
  if (const auto rest = weight_of_the_rest_db(suspect))
    text += wrapped_item(fmt::format("{:>6}  ", weight_text(*rest)),
                         "all else that was found, together", 6, page_width);
  return text;
}

std::string cause_line(const Suspect& suspect) {
  const std::string cause = cause_words(suspect);
  return cause.empty() ? cause : wrapped("if so, " + cause, 4, page_width);
}

std::string suspects_section(const Verdict& verdict) {
  std::string text;
  for (const Suspect& suspect : suspects_worth_naming(verdict, 1, most_suspects)) {
    text +=
        wrapped(fmt::format("{:>5}  {}", percent_text(suspect.probability), suspect_name(suspect)),
                2, page_width);
    text += evidence_lines(suspect);
    text += cause_line(suspect);
  }
  return heading(fmt::format("Suspects for the howl ({})", verdict.about_words)) + text +
         wrapped("weights of what speaks for and against; 10 dB: ten times likelier", 2,
                 page_width);
}

/// In full where a caution is met first; after that by the number of the test it stands under.
class CautionLines {
 public:
  std::string of(const NextTest& test, std::size_t number) {
    std::string text;
    std::set<std::size_t> told_under;
    for (const std::string& caution : test.cautions) {
      const auto [where, is_new] = told_.try_emplace(caution, number);
      if (is_new)
        text += wrapped_item("Caution: ", caution, 5, page_width);
      else
        told_under.insert(where->second);
    }
    if (told_under.empty()) return text;
    return text + wrapped(fmt::format("Caution: as under {}{}", fmt::join(told_under, " and "),
                                      text.empty() ? "" : " too"),
                          5, page_width);
  }

 private:
  std::map<std::string, std::size_t> told_;
};

std::string tests_section(const Verdict& verdict) {
  if (verdict.next_tests.empty()) return {};
  std::string text;
  CautionLines cautions;
  for (std::size_t i = 0; i < std::min(most_tests, verdict.next_tests.size()); ++i) {
    const NextTest& test = verdict.next_tests[i];
    text += wrapped_item(fmt::format("{}. ", i + 1), test.test, 2, page_width);
    text += wrapped(
        fmt::format("{:.2f} bit in {:.0f} min; {}", test.information_bits, test.minutes, test.why),
        5, page_width);
    text += cautions.of(test, i + 1);
  }
  return heading("What to test next, most information a minute first") + text;
}

/// The first ones, and the likeliest wherever it stands.
std::vector<std::size_t> repairs_told(const Verdict& verdict) {
  std::vector<std::size_t> told;
  for (std::size_t i = 0; i < std::min(most_repairs, verdict.repairs.size()); ++i)
    told.push_back(i);
  const auto likeliest = std::ranges::max_element(verdict.repairs, {}, &RepairOption::probability) -
                         verdict.repairs.begin();
  if (const auto place = static_cast<std::size_t>(likeliest); place >= told.size())
    told.push_back(place);
  return told;
}

std::string left_out_words(const Verdict& verdict, std::size_t told) {
  if (told >= verdict.repairs.size()) return {};
  return wrapped(fmt::format("and {} more, dearer for the chance that they help: --json shows all",
                             verdict.repairs.size() - told),
                 2, page_width);
}

std::string repairs_section(const Verdict& verdict) {
  if (verdict.repairs.empty()) return {};
  TextColumns table({{.heading = "repair", .widest = 44},
                     {.heading = "of", .widest = 20},
                     {.heading = "helps", .align = TextColumns::Align::right},
                     {.heading = "hours", .align = TextColumns::Align::right}});
  std::string warnings;
  const std::vector<std::size_t> told = repairs_told(verdict);
  for (const std::size_t i : told) {
    const RepairOption& repair = verdict.repairs[i];
    table.add({repair.repair + (repair.warning.empty() ? "" : " (!)"), repair.component,
               percent_text(repair.probability), fixed_text(repair.hours, 1)});
    if (!repair.warning.empty())
      warnings += wrapped(repair.repair + ": " + repair.warning, 2, page_width);
  }
  return heading("If it had to be mended now: repairs in the order of least expected cost") +
         table.text() + left_out_words(verdict, told.size()) + warnings;
}

std::string remarks_section(const Verdict& verdict) {
  std::string text;
  for (const std::string& remark : verdict.remarks) text += wrapped(remark, 2, page_width);
  return text.empty() ? text : heading("What the workshop found") + text;
}

}  // namespace

std::string verdict_section(const Verdict& verdict) {
  if (verdict.suspects.empty()) return remarks_section(verdict);
  return contradictions_section(verdict) + remarks_section(verdict) + suspects_section(verdict) +
         tests_section(verdict) + repairs_section(verdict);
}

}  // namespace howl
