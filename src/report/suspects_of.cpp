#include "src/report/suspects_of.h"

#include <fmt/format.h>

#include <cstddef>

#include "src/report/suspect_words.h"

namespace howl {
namespace {

constexpr std::size_t most_suspects_drawn = 6;
constexpr std::size_t most_accounts = 3;

SuspectBar bar_of(const Suspect& suspect, bool with_account) {
  SuspectBar bar{suspect_name(suspect), suspect.probability, {}};
  if (!with_account) return bar;
  for (const EvidenceItem& item : telling_evidence(suspect))
    bar.evidence.push_back({item.text, item.weight_db});
  return bar;
}

}  // namespace

SuspectsPicture suspects_of(const Case& value, const Verdict& verdict) {
  SuspectsPicture picture;
  picture.title = value.title.empty() ? "Suspects" : value.title;
  if (verdict.suspects.empty()) {
    picture.why_none = verdict.conclusion.empty()
                           ? "nothing howls, or the profile names no source that could"
                           : verdict.conclusion;
    return picture;
  }
  picture.subtitle = fmt::format("Suspects for the howl ({})", verdict.about_words);
  picture.contradictions = verdict.contradictions;
  for (const Suspect& suspect : suspects_worth_naming(verdict, most_accounts, most_suspects_drawn))
    picture.suspects.push_back(bar_of(suspect, picture.suspects.size() < most_accounts));
  return picture;
}

}  // namespace howl
