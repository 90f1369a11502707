#include "src/reasoning/next_tests.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>

#include "src/profile/load_tests.h"
#include "src/reasoning/source_likelihood.h"

namespace howl {

namespace {

// Minutes for what needs no entry of its own; common practice.
constexpr double kSweepMinutes = 3.0;
constexpr double kTachoMinutes = 6.0;
constexpr double kGearMinutes = 10.0;
constexpr double kPointMinutes = 2.0;
constexpr double kTachoSigma = 5e-4;  ///< of an order, with a tacho on the crankshaft

const char* const kEngineCaution =
    "keep hands, hair, sleeves, microphone and cable away from belts, pulleys and fans";
const char* const kExhaustCaution = "lead the exhaust out of the building";

using OutcomeRow = std::vector<double>;
/// Chances of the outcomes of one test under a source; null: something not in the profile.
using RowOf = std::function<OutcomeRow(const Source*)>;

struct Outlook {
  const CaseKnowledge& known;
  const std::vector<Hypothesis>& hypotheses;
  const Belief& belief;

  const Source* source(std::size_t hypothesis) const {
    const auto& place = hypotheses[hypothesis].source;
    return place ? &known.profile.sources[*place] : nullptr;
  }
  std::string name(std::size_t hypothesis, bool by_cause) const {
    const Source* s = source(hypothesis);
    if (s == nullptr) return "something not in this profile";
    const std::string cause = cause_of(known.profile, hypotheses[hypothesis]);
    return by_cause && !cause.empty() ? cause : s->name;
  }
};

/// Of one more take like those that the case has.
std::vector<std::string> cautions_of_takes(const Outlook& outlook) {
  if (outlook.known.driven) return road_cautions();
  return {kEngineCaution, kExhaustCaution};
}

OutcomeChances rows_by_source(const Outlook& outlook, const RowOf& row) {
  OutcomeChances rows;
  for (std::size_t i = 0; i < outlook.hypotheses.size(); ++i)
    rows.push_back(row(outlook.source(i)));
  return rows;
}

double distance(const OutcomeRow& a, const OutcomeRow& b) {
  double sum = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += std::abs(a[i] - b[i]);
  return 0.5 * sum;
}

/// The two likely hypotheses that the test tells apart best.
std::string what_it_tells(const Outlook& outlook, const OutcomeChances& rows) {
  std::pair<std::size_t, std::size_t> best{0, 0};
  double most = -1.0;
  for (std::size_t i = 0; i < rows.size(); ++i)
    for (std::size_t j = i + 1; j < rows.size(); ++j) {
      const double worth = outlook.belief[i] * outlook.belief[j] * distance(rows[i], rows[j]);
      if (worth > most) {
        most = worth;
        best = {i, j};
      }
    }
  const auto [a, b] = best;
  const bool one_source = outlook.source(a) == outlook.source(b);
  const bool a_first = outlook.belief[a] >= outlook.belief[b];
  return fmt::format("tells {} from {}", outlook.name(a_first ? a : b, one_source),
                     outlook.name(a_first ? b : a, one_source));
}

NextTest promise(const Outlook& outlook, NextTest test, const OutcomeChances& rows) {
  test.information_bits = expected_information_bits(outlook.belief, rows);
  test.why = what_it_tells(outlook, rows);
  return test;
}

// ---- Load tests

OutcomeRow reaction_row(const Source* source, const std::string& test) {
  const ReactionChances any = reaction_chances(Reaction::unknown);
  ReactionChances own = any;
  if (source != nullptr) {
    const auto found = source->reacts.find(test);
    if (found != source->reacts.end()) own = reaction_chances(found->second);
  }
  const auto mix = [](double x, double y) {
    return (1.0 - kReactionSurprise) * x + kReactionSurprise * y;
  };
  // What howls already cannot begin: it grows louder.
  return {mix(own.louder + own.starts, any.louder + any.starts), mix(own.quieter, any.quieter),
          mix(own.stops, any.stops), mix(own.same, any.same)};
}

bool was_done(const Howl* howl, const LoadTest& test) {
  return howl != nullptr && std::ranges::any_of(howl->loads, [&](const LoadChange& effect) {
           return effect.test == test.key && (effect.change_db || effect.low_db || effect.high_db);
         });
}

void add_load_tests(const Outlook& outlook, const Howl* howl, std::vector<NextTest>& tests) {
  for (const LoadTest& test : load_tests()) {
    if (was_done(howl, test) || !is_test_possible(outlook.known.profile, test.key)) continue;
    const OutcomeChances rows = rows_by_source(
        outlook, [&](const Source* source) { return reaction_row(source, test.key); });
    tests.push_back(promise(outlook,
                            {fmt::format("{}: {}", test.title, test.how), "load:" + test.key, 0.0,
                             test.minutes, "", test.cautions},
                            rows));
  }
}

// ---- Speed

OutcomeRow law_row(const Source* source) {
  const LawChances c = source == nullptr ? unknown_law_chances() : law_chances(source->turning);
  return {c.fixed, c.locked + c.belt, c.road, c.free};
}

void add_sweep(const Outlook& outlook, const Howl* howl, std::vector<NextTest>& tests) {
  if (howl != nullptr && (howl->pitch_settled || !howl->tone)) return;
  tests.push_back(promise(
      outlook,
      {"Record one slow sweep, idle to 3000 rpm in 20 s, where the howl is loudest, with the "
       "speed logged or entered as a ramp",
       "speed:sweep", 0.0, kSweepMinutes, "", cautions_of_takes(outlook)},
      rows_by_source(outlook, law_row)));
}

/// Chances that another gear shows the pitch to follow the engine, the road or neither, given what
/// one gear has shown.
OutcomeRow gear_row(const Source* source, const Howl::LawSupport& seen) {
  const LawChances c = source == nullptr ? unknown_law_chances() : law_chances(source->turning);
  const double engine = c.locked * seen.locked + c.belt * seen.belt;
  const double road = c.road * seen.road;
  const double neither = c.fixed * seen.fixed + c.free * seen.free;
  const double sum = engine + road + neither;
  return {engine / sum, road / sum, neither / sum};
}

void add_gear(const Outlook& outlook, const Howl* howl, std::vector<NextTest>& tests) {
  if (howl == nullptr || !howl->in_one_gear) return;
  tests.push_back(promise(
      outlook,
      {"Record at the same road speed in another gear, and note road and engine speed of both: "
       "what follows the engine changes its pitch, what follows the road keeps it",
       "speed:gear", 0.0, kGearMinutes, "", road_cautions()},
      rows_by_source(outlook, [&](const Source* source) { return gear_row(source, howl->laws); })));
}

/// Where in the interval that is left an exact measurement would find the order.
OutcomeRow order_row(const Source* source, const LogEstimate& order) {
  constexpr int bins = 24;
  constexpr double reach = 2.5;  // standard deviations of what is known now
  OutcomeRow row;
  double sum = 0.0;
  for (int i = 0; i < bins; ++i) {
    const double z = -reach + 2.0 * reach * (i + 0.5) / bins;
    const double width = 2.0 * reach * order.log_sigma / bins;
    const LogEstimate exact{order.value * std::exp(z * order.log_sigma),
                            std::max(kTachoSigma, width)};
    const double support = source == nullptr ? 1.0 : order_support(*source, exact);
    row.push_back(support * std::exp(-0.5 * z * z));
    sum += row.back();
  }
  for (double& chance : row) chance /= sum;
  return row;
}

void add_tacho(const Outlook& outlook, const Howl* howl, std::vector<NextTest>& tests) {
  constexpr double exact_enough = 1.5e-3;
  if (howl == nullptr || !howl->pitch_settled || !howl->order) return;
  if (howl->order->log_sigma < exact_enough) return;
  if (howl->laws.locked + howl->laws.belt < howl->laws.fixed + howl->laws.free) return;
  tests.push_back(promise(
      outlook,
      {"Record a sweep with a tacho on the crankshaft in a second channel, to know the order "
       "to a tenth of a per cent",
       "speed:tacho", 0.0, kTachoMinutes, "", cautions_of_takes(outlook)},
      rows_by_source(outlook,
                     [&](const Source* source) { return order_row(source, *howl->order); })));
}

// ---- Probe points

bool recorded(const Howl& howl, const std::string& point) {
  return std::ranges::find(howl.points, point, &Howl::PointLevel::point) != howl.points.end();
}

OutcomeRow point_row(const Source* source, const std::vector<std::string>& points) {
  const double chance = source == nullptr ? 1.0 / static_cast<double>(points.size())
                                          : loudest_chances(*source, points).back();
  return {chance, 1.0 - chance};
}

void add_points(const Outlook& outlook, const Howl* howl, std::vector<NextTest>& tests) {
  if (howl == nullptr || !howl->tone || howl->points.empty()) return;
  std::vector<std::string> points;
  for (const Howl::PointLevel& p : howl->points) points.push_back(p.point);
  for (const std::string& point : outlook.known.points) {
    if (recorded(*howl, point)) continue;
    points.push_back(point);
    tests.push_back(promise(
        outlook,
        {fmt::format("Record {} at the same speed and load as the other points", point),
         "point:" + point, 0.0, kPointMinutes, "", cautions_of_takes(outlook)},
        rows_by_source(outlook, [&](const Source* source) { return point_row(source, points); })));
    points.pop_back();
  }
}

// ---- Workshop facts

OutcomeChances fact_rows(const Outlook& outlook, const WorkshopFact& fact) {
  OutcomeChances rows;
  for (const Hypothesis& h : outlook.hypotheses) {
    OutcomeRow row;
    for (const std::string& value : fact.values)
      row.push_back(chance_of(fact, cause_of(outlook.known.profile, h), value));
    rows.push_back(std::move(row));
  }
  return rows;
}

bool group_is_entered(const CaseKnowledge& known, const WorkshopFact& fact) {
  return !fact.group.empty() && std::ranges::any_of(known.facts, [&](const WorkshopFact& other) {
    return other.group == fact.group && known.entered.contains(other.key);
  });
}

void add_facts(const Outlook& outlook, std::vector<NextTest>& tests) {
  for (const WorkshopFact& fact : outlook.known.facts) {
    if (outlook.known.entered.contains(fact.key)) continue;
    NextTest test = promise(outlook,
                            {fmt::format("{}: {}", fact.question, fact.how), "fact:" + fact.key,
                             0.0, fact.minutes, "", fact.cautions},
                            fact_rows(outlook, fact));
    if (group_is_entered(outlook.known, fact)) test.information_bits *= kDependentShare;
    tests.push_back(std::move(test));
  }
}

}  // namespace

std::vector<NextTest> next_tests(const CaseKnowledge& known, const Howl* howl,
                                 const std::vector<Hypothesis>& hypotheses, const Belief& belief) {
  const Outlook outlook{known, hypotheses, belief};
  std::vector<NextTest> tests;
  add_sweep(outlook, howl, tests);
  add_gear(outlook, howl, tests);
  add_tacho(outlook, howl, tests);
  add_points(outlook, howl, tests);
  add_load_tests(outlook, howl, tests);
  add_facts(outlook, tests);
  std::erase_if(tests, [](const NextTest& t) { return t.information_bits < kLeastInformation; });
  std::ranges::stable_sort(tests, std::greater{},
                           [](const NextTest& t) { return t.information_bits / t.minutes; });
  return tests;
}

}  // namespace howl
