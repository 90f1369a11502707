#include "src/reasoning/reason.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <numeric>
#include <utility>

#include "src/percent_text.h"
#include "src/reasoning/fact_words.h"
#include "src/reasoning/source_likelihood.h"
#include "src/reasoning/which_howl.h"

namespace howl {

namespace {

constexpr double kSure = 0.9;             ///< a suspect is called by its name from here on
constexpr double kWorthNaming = 0.01;     ///< causes and repairs below are left out
constexpr double kContradictionDb = 5.0;  ///< evidence this strong against a likely suspect

const char* const kTheRest = "something not in this profile";

/// One piece of evidence under every hypothesis, with what to say of it for each source.
struct Item {
  std::string id;
  std::vector<double> log_likelihood;
  std::vector<std::string> text_by_source;  ///< the rest last
};

std::vector<Item> items_of_sound(const Howl& howl, const Profile& profile,
                                 const std::vector<Hypothesis>& hypotheses) {
  std::vector<std::vector<Explained>> by_source;
  for (const Source& source : profile.sources) by_source.push_back(explain(howl, source));
  std::vector<Item> items;
  if (by_source.empty()) return items;
  for (std::size_t e = 0; e < by_source.front().size(); ++e) {
    Item item{by_source.front()[e].id, {}, {}};
    for (const auto& explained : by_source) item.text_by_source.push_back(explained[e].text);
    item.text_by_source.emplace_back("against what the sources of the profile would give");
    for (const Hypothesis& h : hypotheses)
      item.log_likelihood.push_back(h.source ? by_source[*h.source][e].log_ratio : 0.0);
    items.push_back(std::move(item));
  }
  return items;
}

std::string rival_words(const WhichHowl& which) {
  if (which.rival == nullptr) return {};
  std::string text = which.rival->words;
  if (!which.rival_source.empty()) text += fmt::format(", as {} would make", which.rival_source);
  return text;
}

std::string words_of(const WhichHowl& which, const Howl& howl) {
  std::string text = fmt::format("the howl complained of may be another one ({})",
                                 percent_text(1.0 - which.chance));
  if (howl.firing) return text + ": the engine's firing makes this order too";
  if (!howl.prominent) text += ": nothing howls prominently";
  const std::string rival = rival_words(which);
  return rival.empty() ? text : text + ", such as " + rival;
}

/// That the howl which was judged need not be the fault's.
struct OtherHowls {
  Item item;
  std::string doubt;  ///< said where another howl is likelier; else empty
};

OtherHowls weigh_other_howls(const Howl& howl, const Analysis& analysis, const Profile& profile,
                             const std::vector<Hypothesis>& hypotheses,
                             const std::vector<Item>& sound) {
  const std::size_t sources = profile.sources.size();
  std::vector<double> sum(sources + 1);
  for (std::size_t h = 0; h < hypotheses.size(); ++h)  // sound is alike for all causes of a source
    sum[hypotheses[h].source.value_or(sources)] = std::accumulate(
        sound.begin(), sound.end(), 0.0,
        [&](double total, const Item& item) { return total + item.log_likelihood[h]; });
  std::vector<Howl> others = prominent_howls(analysis);
  std::erase_if(others, [&](const Howl& other) {
    return other.id == howl.id || may_be_harmonic_of(other, howl);
  });
  const bool given = analysis.suspect_band && analysis.suspect_band->chosen_by_user;
  const WhichHowl which = which_howl(howl, given ? Chosen::by_user : Chosen::for_standing_out, sum,
                                     others, profile.sources);
  OtherHowls found{
      {"other howls", {}, std::vector<std::string>(sources + 1, words_of(which, howl))}, {}};
  for (const Hypothesis& h : hypotheses)
    found.item.log_likelihood.push_back(which.log_ratio[h.source.value_or(sources)]);
  if (which.chance < 0.5 && which.rival != nullptr)
    found.doubt = fmt::format(
        "Another howl is stronger at the part that makes it: {}. Listen which of the two is "
        "complained of; if it is that one, give its band",
        rival_words(which));
  return found;
}

std::vector<Item> items_of_facts(const std::vector<FactEvidence>& facts, std::size_t sources) {
  std::vector<Item> items;
  for (const FactEvidence& fact : facts)
    items.push_back(
        {"fact:" + fact.key, fact.log_ratios, std::vector<std::string>(sources + 1, fact.text)});
  return items;
}

double odds_db(double probability) {
  constexpr double nearest = 1e-9;  // keeps weights finite
  return log_odds_db(std::clamp(probability, nearest, 1.0 - nearest));
}

/// What each item did to each source's odds, one after the other.
struct Weighing {
  Belief belief;
  std::vector<std::vector<EvidenceItem>> by_source;  ///< the rest last
};

Weighing weigh(Belief belief, const std::vector<Item>& items,
               const std::vector<Hypothesis>& hypotheses, std::size_t sources) {
  Weighing weighing{{}, std::vector<std::vector<EvidenceItem>>(sources + 1)};
  Belief before = by_source(hypotheses, belief, sources);
  for (std::size_t s = 0; s <= sources; ++s)
    weighing.by_source[s].push_back(
        {"before", fmt::format("how often it is at fault: {}", percent_text(before[s])),
         odds_db(before[s])});
  for (const Item& item : items) {
    belief = posterior(belief, item.log_likelihood).value_or(belief);
    const Belief after = by_source(hypotheses, belief, sources);
    for (std::size_t s = 0; s <= sources; ++s)
      weighing.by_source[s].push_back(
          {item.id, item.text_by_source[s], odds_db(after[s]) - odds_db(before[s])});
    before = after;
  }
  weighing.belief = std::move(belief);
  return weighing;
}

std::vector<Suspect::Cause> causes_of(const Profile& profile,
                                      const std::vector<Hypothesis>& hypotheses,
                                      const Belief& belief, std::size_t source) {
  std::vector<Suspect::Cause> causes;
  for (std::size_t i = 0; i < hypotheses.size(); ++i)
    if (hypotheses[i].source == source && hypotheses[i].cause)
      causes.push_back({cause_of(profile, hypotheses[i]), belief[i]});
  std::ranges::stable_sort(causes, std::greater{}, &Suspect::Cause::probability);
  return causes;
}

std::vector<EvidenceItem> strongest_first(std::vector<EvidenceItem> items) {
  std::stable_sort(items.begin(), items.end(), [](const EvidenceItem& a, const EvidenceItem& b) {
    return std::abs(a.weight_db) > std::abs(b.weight_db);
  });
  return items;
}

std::vector<Suspect> suspects_of(const Profile& profile, const std::vector<Hypothesis>& hypotheses,
                                 const Weighing& weighing) {
  const std::size_t sources = profile.sources.size();
  const Belief chance = by_source(hypotheses, weighing.belief, sources);
  std::vector<Suspect> suspects;
  for (std::size_t s = 0; s <= sources; ++s) {
    Suspect suspect;
    suspect.source = s == sources ? "" : profile.sources[s].name;
    suspect.component = s == sources ? kTheRest : profile.sources[s].component;
    suspect.probability = chance[s];
    suspect.evidence = strongest_first(weighing.by_source[s]);
    if (s < sources) suspect.causes = causes_of(profile, hypotheses, weighing.belief, s);
    suspects.push_back(std::move(suspect));
  }
  std::ranges::stable_sort(suspects, std::greater{}, &Suspect::probability);
  return suspects;
}

// ---- Repairs

std::string repair_warning(const RepairOption& option, const std::vector<NextTest>& tests) {
  if (!option.irreversible || option.probability >= kSure) return {};
  std::string warning =
      fmt::format("dear, or not to be undone, and only {} likely to help: prove it first",
                  percent_text(option.probability));
  if (!tests.empty()) warning += ", beginning with the next test";
  return warning;
}

/// Causes that one repair of one component mends count as one option.
std::vector<RepairOption> options_of(const Profile& profile,
                                     const std::vector<Hypothesis>& hypotheses,
                                     const Belief& belief) {
  std::vector<RepairOption> options;
  for (std::size_t i = 0; i < hypotheses.size(); ++i) {
    const Hypothesis& h = hypotheses[i];
    if (!h.source || !h.cause) continue;
    const Source& source = profile.sources[*h.source];
    const Cause& cause = source.causes[*h.cause];
    const auto known = std::ranges::find_if(options, [&](const RepairOption& option) {
      return option.repair == cause.repair && option.component == source.component;
    });
    if (known == options.end())
      options.push_back(
          {cause.repair, source.component, belief[i], cause.hours, cause.irreversible, ""});
    else
      known->probability += belief[i];
  }
  std::erase_if(options, [](const RepairOption& o) { return o.probability < kWorthNaming; });
  return options;
}

void plan_repairs(const Profile& profile, const std::vector<Hypothesis>& hypotheses,
                  const Belief& belief, Verdict& verdict) {
  const std::vector<RepairOption> options = options_of(profile, hypotheses, belief);
  std::vector<RepairChoice> choices;
  for (const RepairOption& option : options) choices.push_back({option.probability, option.hours});
  std::vector<RepairChoice> in_order;
  for (const std::size_t i : repair_order(choices)) {
    verdict.repairs.push_back(options[i]);
    verdict.repairs.back().warning = repair_warning(options[i], verdict.next_tests);
    in_order.push_back(choices[i]);
  }
  verdict.expected_repair_hours = expected_repair_cost(in_order);
}

/// Once enough is known, a test that tells less is not worth its time and its risk; our choice.
constexpr double kWorthwhileBits = 0.1;

// ---- Words

std::vector<std::string> contradictions_of(const std::vector<Suspect>& suspects) {
  constexpr double likely = 0.3;
  std::vector<std::string> found;
  for (const Suspect& suspect : suspects) {
    if (suspect.probability < likely || suspect.source.empty()) continue;
    for (const EvidenceItem& item : suspect.evidence)
      if (item.id != "before" && item.id != "other howls" && item.weight_db <= -kContradictionDb)
        found.push_back(fmt::format("{} is likely ({}), but this speaks against it: {}",
                                    suspect.source, percent_text(suspect.probability), item.text));
  }
  return found;
}

std::string wrong_speed_words(const Howl& howl) {
  return fmt::format(
      "The sound of {} contradicts the speed that was written down, so that neither the order of "
      "the howl nor what it follows counts here: put the speed right first",
      fmt::join(howl.wrong_speeds, ", "));
}

Inquiry state_of(const Verdict& verdict, const Howl& howl) {
  const Suspect& first = verdict.suspects.front();
  const bool shown = (howl.pitch_settled && !howl.in_one_gear) || !howl.tone;
  if (first.probability >= kSure && !first.source.empty() && shown &&
      verdict.contradictions.empty())
    return Inquiry::enough;
  return verdict.next_tests.empty() ? Inquiry::not_by_sound : Inquiry::go_on;
}

std::string with_chance(const Suspect& suspect) {
  return fmt::format("{} ({})", suspect_name(suspect), percent_text(suspect.probability));
}

/// Names the part first where its sources together are likelier than the first suspect's part.
std::string likeliest_words(const Verdict& verdict) {
  const Suspect& first = verdict.suspects.front();
  const PartChance part = parts_by_chance(verdict).front();
  if (part.component == first.component) return "Likeliest is " + with_chance(first);
  return fmt::format(
      "Likeliest part is {} ({}, all its sources together); of single sources it is {}",
      part.component, percent_text(part.probability), with_chance(first));
}

std::string conclusion_of(const Verdict& verdict, const Howl& howl) {
  if (verdict.state == Inquiry::enough)
    return "The howl comes from: " + with_chance(verdict.suspects.front()) + ". Enough is known" +
           (verdict.next_tests.empty() ? "."
                                       : " of what makes it; tests that may tell why stand below.");
  if (verdict.state == Inquiry::not_by_sound)
    return likeliest_words(verdict) + ", but no test that is known here would settle it: inspect.";
  std::string text = "Not settled. " + likeliest_words(verdict);
  if (verdict.suspects.size() > 1) text += ", then " + with_chance(verdict.suspects[1]);
  if (howl.tone && !howl.pitch_settled) return text + "; what its pitch follows is not known yet.";
  if (howl.in_one_gear)
    return text + "; whether its pitch follows the engine or the road is not known yet.";
  return text + ".";
}

/// All but what the workshop's finds say by themselves.
Verdict explained_howl(const Analysis& analysis, const CaseKnowledge& known) {
  Verdict verdict;
  const std::vector<Hypothesis> hypotheses = hypotheses_of(known.profile);
  const Belief prior = prior_of(known.profile, hypotheses);
  const std::optional<Howl> howl = observed_howl(analysis);
  if (!howl) {
    verdict.conclusion = "No howl was found to be explained.";
    return verdict;
  }
  verdict.about = howl->id;
  verdict.about_words = howl->words;
  if (known.profile.sources.empty()) {
    verdict.conclusion = "The case's profile names no sources, so nobody is suspected.";
    return verdict;
  }
  std::vector<Item> items = items_of_sound(*howl, known.profile, hypotheses);
  std::string doubt;
  if (howl->tone) {
    OtherHowls others = weigh_other_howls(*howl, analysis, known.profile, hypotheses, items);
    items.push_back(std::move(others.item));
    doubt = std::move(others.doubt);
  }
  const std::vector<FactEvidence> facts =
      fact_evidence(known.entered, known.facts, known.profile, hypotheses);
  std::ranges::move(items_of_facts(facts, known.profile.sources.size()), std::back_inserter(items));
  const Weighing weighing = weigh(prior, items, hypotheses, known.profile.sources.size());
  verdict.suspects = suspects_of(known.profile, hypotheses, weighing);
  verdict.contradictions = contradictions_of(verdict.suspects);
  if (!doubt.empty()) verdict.contradictions.push_back(doubt);
  if (!analysis.cylinder_doubt.empty())
    verdict.contradictions.insert(verdict.contradictions.begin(), analysis.cylinder_doubt);
  if (!howl->wrong_speeds.empty())
    verdict.contradictions.insert(verdict.contradictions.begin(), wrong_speed_words(*howl));
  verdict.next_tests = next_tests(known, &*howl, hypotheses, weighing.belief);
  verdict.state = state_of(verdict, *howl);
  plan_repairs(known.profile, hypotheses, weighing.belief, verdict);
  if (verdict.state == Inquiry::enough)
    std::erase_if(verdict.next_tests,
                  [](const NextTest& test) { return test.information_bits < kWorthwhileBits; });
  verdict.conclusion = conclusion_of(verdict, *howl);
  return verdict;
}

}  // namespace

std::vector<PartChance> parts_by_chance(const Verdict& verdict) {
  std::vector<PartChance> parts;
  for (const Suspect& suspect : verdict.suspects) {
    const auto known = std::ranges::find(parts, suspect.component, &PartChance::component);
    if (known == parts.end())
      parts.push_back({suspect.component, suspect.probability});
    else
      known->probability += suspect.probability;
  }
  std::ranges::stable_sort(parts, std::greater{}, &PartChance::probability);
  return parts;
}

Verdict reason(const Analysis& analysis, const CaseKnowledge& known) {
  Verdict verdict = explained_howl(analysis, known);
  verdict.remarks = fact_remarks(known.entered, known.facts, verdict.suspects);
  verdict.whatever_howls = facts_by_themselves(known.entered, known.facts);
  return verdict;
}

}  // namespace howl
