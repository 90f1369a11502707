#include "src/report/profile_table.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <variant>
#include <vector>

#include "src/profile/expected_lines.h"
#include "src/profile/load_tests.h"
#include "src/report/number_text.h"
#include "src/report/text_columns.h"

namespace howl {

namespace {

using Align = TextColumns::Align;

constexpr double kExampleRpm = 1800.0;
constexpr double kExampleKmh = 50.0;
constexpr double kRareShare = 0.1;  // below it, lines of a source share one row
constexpr std::size_t kLineWidth = 96;

std::string short_span(const Interval& span) {
  const int decimals = span.high < 2.0 ? 2 : span.high < 100.0 ? 1 : 0;
  return span_text(span, decimals);
}

// ---- what turns it ----

std::string ratio_text(const Interval& ratio) {
  const bool is_whole = ratio.width() == 0.0 && ratio.low == std::round(ratio.low);
  return span_text(ratio, is_whole ? 0 : 2);
}

struct TurnedBy {
  std::string operator()(const CrankTurning& t) const { return "crank × " + ratio_text(t.ratio); }
  std::string operator()(const BeltTurning& t) const { return "belt × " + ratio_text(t.ratio); }
  std::string operator()(const RoadTurning&) const { return "road"; }
  std::string operator()(const FreeTurning&) const { return "its own pace"; }
  std::string operator()(const Ringing&) const { return "nothing: it rings"; }
};

// ---- where it howls ----

/// Lines that a technician sees as one: of 7 to 13 lobes, of a race whatever its elements.
struct LineGroup {
  std::string what;
  ExpectedLine::Unit unit{};
  Interval at;
  bool exact{};
  double share{};
};

void join(LineGroup& group, const Interval& at, bool exact, double share) {
  group.at = {std::min(group.at.low, at.low), std::max(group.at.high, at.high)};
  group.exact = group.exact && exact;
  group.share += share;
}

/// "7 … 13 lobes"; of a bearing "flaw of the outer race", without the number of elements.
std::string name_of(const Makes& makes) {
  if (makes.whole_numbers && makes.what.find("pulses") == std::string::npos)
    return fmt::format("{} {}", span_text(makes.per_turn, 0), makes.what);
  return makes.what.substr(0, makes.what.find(','));
}

/// Of one thing that the source makes, whatever else it makes.
LineGroup group_of(const Source& source, const Makes& makes) {
  Source alone = source;
  alone.makes = {makes};
  const std::vector<ExpectedLine> lines = expected_lines(alone);
  LineGroup group{name_of(makes), lines.front().unit, lines.front().at, true, 0.0};
  for (const ExpectedLine& line : lines) join(group, line.at, line.exact, makes.share * line.share);
  return group;
}

std::vector<LineGroup> groups_of(const Source& source) {
  const std::vector<ExpectedLine> lines = expected_lines(source);
  if (lines.empty()) return {};
  const ExpectedLine& first = lines.front();
  if (first.unit == ExpectedLine::Unit::hertz)
    return {{first.what, first.unit, first.at, false, first.share}};
  std::vector<LineGroup> groups;
  for (const Makes& makes : source.makes) {
    const LineGroup one = group_of(source, makes);
    const auto known = std::ranges::find(groups, one.what, &LineGroup::what);
    if (known == groups.end())
      groups.push_back(one);
    else
      join(*known, one.at, one.exact, one.share);
  }
  return groups;
}

/// The rare ones become one row, or none if they are rare together too.
std::vector<LineGroup> without_clutter(std::vector<LineGroup> groups) {
  const auto rare = std::stable_partition(groups.begin(), groups.end(), [](const LineGroup& group) {
    return group.share >= kRareShare;
  });
  if (rare == groups.end()) return groups;
  LineGroup others = *rare;
  others.share = 0.0;
  if (groups.end() - rare > 1) others.what = "rarer ones";
  for (auto group = rare; group != groups.end(); ++group)
    join(others, group->at, group->exact, group->share);
  groups.erase(rare, groups.end());
  if (others.share >= kRareShare) groups.push_back(std::move(others));
  return groups;
}

std::string order_text(const LineGroup& group) {
  switch (group.unit) {
    case ExpectedLine::Unit::order:
      return group.exact ? fmt::format("{} whole", span_text(group.at, 0)) : short_span(group.at);
    case ExpectedLine::Unit::cycles_per_metre:
      return short_span(group.at) + " a metre";
    case ExpectedLine::Unit::hertz:
      break;
  }
  return "-";
}

std::string hertz_text(const LineGroup& group) {
  double factor = 1.0;
  if (group.unit == ExpectedLine::Unit::order) factor = kExampleRpm / 60.0;
  if (group.unit == ExpectedLine::Unit::cycles_per_metre) factor = kExampleKmh / 3.6;
  return span_text({group.at.low * factor, group.at.high * factor}, 0);
}

void add_rows(const Source& source, TextColumns& table) {
  std::string name = source.name;
  std::string turned = std::visit(TurnedBy{}, source.turning);
  const std::vector<LineGroup> groups = without_clutter(groups_of(source));
  if (groups.empty()) table.add({name, turned, "not known", "-", "-"});
  for (const LineGroup& group : groups)
    table.add({std::exchange(name, ""), std::exchange(turned, ""), group.what, order_text(group),
               hertz_text(group)});
}

std::string orders_table(const Profile& profile) {
  TextColumns table({{.heading = "source", .widest = 28},
                     {.heading = "turned by", .widest = 20},
                     {.heading = "makes", .widest = 34},
                     {.heading = "order", .align = Align::right, .widest = 24},
                     {.heading = "Hz", .align = Align::right, .widest = 16}});
  for (const Source& source : profile.sources) add_rows(source, table);
  return table.text();
}

constexpr const char* kOrdersLegend =
    "Turned by: turns of its shaft for one of the crankshaft. Order: cycles per crank turn, from "
    "the "
    "least to the most that ratio, belt slip and what the profile leaves open allow; 'whole' where "
    "nothing slips, so that only a whole number in that range can be it. Hz: at 1800 rpm, or at 50 "
    "km/h for what the road turns, whose orders are told as cycles per metre travelled. What is "
    "behind fewer than one in ten of its howls is left out. Harmonics and, of bearings and gears, "
    "sidebands come on top.";

// ---- sidebands ----

Interval hull(const Interval& a, const Interval& b) {
  return {std::min(a.low, b.low), std::max(a.high, b.high)};
}

/// What stands for something that turns, over all lines of one thing that the source makes.
struct Spacings {
  std::vector<Interval> others;
  std::optional<Interval> same_teeth;
};

void join(Spacings& spacings, const ExpectedLine& line) {
  for (std::size_t i = 0; i < line.other_shafts.size(); ++i)
    if (i < spacings.others.size())
      spacings.others[i] = hull(spacings.others[i], line.other_shafts[i]);
    else
      spacings.others.push_back(line.other_shafts[i]);
  if (line.same_teeth)
    spacings.same_teeth = hull(spacings.same_teeth.value_or(*line.same_teeth), *line.same_teeth);
}

Spacings spacings_of(Source source, const Makes& makes) {
  source.makes = {makes};
  Spacings spacings;
  for (const ExpectedLine& line : expected_lines(source)) join(spacings, line);
  return spacings;
}

std::string fine_span(const Interval& span) { return span_text(span, span.high < 0.1 ? 4 : 2); }

void add_sidebands(const Source& source, TextColumns& table) {
  const std::vector<ExpectedLine> lines = expected_lines(source);
  if (lines.empty() || lines.front().unit == ExpectedLine::Unit::hertz) return;
  const char* const unit =
      lines.front().unit == ExpectedLine::Unit::cycles_per_metre ? " a metre" : "";
  std::vector<std::string> others;
  std::vector<std::string> same;
  for (const Makes& makes : source.makes) {
    const Spacings spacings = spacings_of(source, makes);
    for (const Interval& other : spacings.others) others.push_back(fine_span(other) + unit);
    if (spacings.same_teeth) same.push_back(fine_span(*spacings.same_teeth) + unit);
  }
  if (others.empty()) return;
  table.add({source.name, fine_span(lines.front().shaft) + unit,
             fmt::format("{}", fmt::join(others, "; ")),
             same.empty() ? "-" : fmt::format("{}", fmt::join(same, "; "))});
}

constexpr const char* kSidebandsLegend =
    "Turns for one of the crankshaft, or a metre. A flaw that turns with a shaft sets sidebands "
    "that far beside the lines above. Where the same two teeth or lobes are damaged, it knocks as "
    "often as they meet.";

/// Empty where nothing meshes.
std::string sidebands_table(const Profile& profile) {
  const auto meshes = [](const Source& source) {
    return std::ranges::any_of(expected_lines(source),
                               [](const ExpectedLine& line) { return !line.other_shafts.empty(); });
  };
  if (std::ranges::none_of(profile.sources, meshes)) return {};
  TextColumns table({{.heading = "source", .widest = 28},
                     {.heading = "its own shaft", .widest = 22},
                     {.heading = "other shafts in mesh with it", .widest = 44},
                     {.heading = "the same teeth meet", .widest = 22}});
  for (const Source& source : profile.sources) add_sidebands(source, table);
  return "\nWhere sidebands of a mesh stand\n" + table.text() + "\n" +
         wrapped(kSidebandsLegend, 0, kLineWidth);
}

// ---- what load tests do ----

std::vector<const LoadTest*> possible_tests(const Profile& profile) {
  std::vector<const LoadTest*> tests;
  for (const LoadTest& test : load_tests())
    if (is_test_possible(profile, test.key)) tests.push_back(&test);
  return tests;
}

std::string reaction_text(const Source& source, const std::string& test) {
  const auto found = source.reacts.find(test);
  if (found == source.reacts.end() || found->second == Reaction::unknown) return "?";
  return found->second == Reaction::same ? "." : std::string(reaction_name(found->second));
}

std::string loudest_at(const Source& source) {
  std::vector<std::string> points;
  for (const auto& [point, below] : source.below_db)
    if (below == 0.0) points.push_back(point);
  return points.empty() ? "not known" : fmt::format("{}", fmt::join(points, ", "));
}

std::string tests_table(const Profile& profile) {
  const auto tests = possible_tests(profile);
  std::vector<TextColumns::Column> columns{{.heading = "source", .widest = 28}};
  for (const LoadTest* test : tests) columns.push_back({.heading = test->key});
  columns.push_back({.heading = "loudest at", .widest = 26});
  TextColumns table(std::move(columns));
  for (const Source& source : profile.sources) {
    std::vector<std::string> cells{source.name};
    for (const LoadTest* test : tests) cells.push_back(reaction_text(source, test->key));
    cells.push_back(loudest_at(source));
    table.add(std::move(cells));
  }
  return table.text();
}

std::string quoted(const std::string& value) {
  return value.find(' ') == std::string::npos ? value : '"' + value + '"';
}

std::string values_table(const Profile& profile) {
  TextColumns table({{.heading = "load test", .widest = 34},
                     {.heading = "first take with", .widest = 30},
                     {.heading = "second take with", .widest = 30}});
  for (const LoadTest* test : possible_tests(profile))
    table.add({test->title, fmt::format("--load {}={}", test->key, quoted(test->base.front())),
               fmt::format("--load {}={}", test->key, quoted(test->loaded.front()))});
  return table.text();
}

}  // namespace

std::string profile_table(const Profile& profile) {
  if (profile.sources.empty()) return {};
  return "What can howl, and where in the spectrum\n" + orders_table(profile) + "\n" +
         wrapped(kOrdersLegend, 0, kLineWidth) + sidebands_table(profile) +
         "\nWhat a load test does to it\n" + tests_table(profile) + "\n" +
         wrapped("From the take without the load to the one with it; '.' the same, '?' not known.",
                 0, kLineWidth) +
         "\nHow to note a load\n" + values_table(profile);
}

}  // namespace howl
