#include "dsp/tone_families.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "dsp/family_fit.h"

using namespace howl;

namespace {

FamilyLine line_at(double position, double level_db = -40.0, double relative_sigma = 5e-4) {
  return {position, relative_sigma * position, level_db, 0.5, {}};
}

std::vector<FamilyLine> lines_at(const std::vector<double>& positions,
                                 double relative_sigma = 5e-4) {
  std::vector<FamilyLine> lines;
  for (const double p : positions)
    lines.push_back(line_at(p, -30.0 - static_cast<double>(lines.size()), relative_sigma));
  return lines;
}

/// "1x 2x 3x", "1x 1x-1 1x+1", by rising position.
std::string parts(const LineFamily& family) {
  std::vector<FamilyMember> members = family.members;
  std::sort(members.begin(), members.end(), [](const FamilyMember& a, const FamilyMember& b) {
    return std::pair(a.multiple, a.sideband) < std::pair(b.multiple, b.sideband);
  });
  std::string text;
  for (const FamilyMember& m : members) {
    if (!text.empty()) text += ' ';
    text += std::to_string(m.multiple) + "x";
    if (m.sideband != 0) text += (m.sideband > 0 ? "+" : "") + std::to_string(m.sideband);
  }
  return text;
}

/// Random lines that have nothing to do with one another.
struct Unrelated {
  int fewest;
  int most;
  bool on_grid;
};

std::vector<FamilyLine> draw_unrelated(const Unrelated& kind, Random& random) {
  const auto count = static_cast<std::size_t>(kind.fewest) +
                     draw_index(random, static_cast<std::size_t>(kind.most - kind.fewest + 1));
  const double sigma = 1e-4 * std::pow(30.0, draw_uniform(random));
  const bool logarithmic = draw_uniform(random) < 0.5;
  std::vector<FamilyLine> lines;
  while (lines.size() < count) {
    const double u = draw_uniform(random);
    double position = logarithmic ? 2.0 * std::pow(40.0, u) : 2.0 + 78.0 * u;
    if (kind.on_grid) position = std::max(1.0, std::round(2.0 * position)) / 2.0;
    const bool there = std::any_of(lines.begin(), lines.end(), [&](const FamilyLine& l) {
      return std::abs(l.position - position) < (kind.on_grid ? 0.25 : 0.0);
    });
    if (!there)
      lines.push_back(line_at(position * (1.0 + sigma * draw_normal(random)),
                              -50.0 + 8.0 * draw_normal(random), sigma));
  }
  return lines;
}

double share_with_family(const Unrelated& kind, int sets, const FamilyParameters& parameters) {
  Random random(7);
  int with = 0;
  for (int i = 0; i < sets; ++i)
    with += find_families(draw_unrelated(kind, random), parameters).empty() ? 0 : 1;
  return static_cast<double>(with) / sets;
}

/// A family among unrelated lines; every line is read with an error of its sigma.
struct Truth {
  double base;
  int harmonics;
  double spacing;  // 0: no sidebands
};

std::vector<FamilyLine> draw_family(const Truth& truth, int others, double sigma, Random& random) {
  std::vector<FamilyLine> lines;
  for (int k = 1; k <= truth.harmonics; ++k) {
    const double level = -30.0 - 4.0 * k;
    lines.push_back(line_at(k * truth.base, level, sigma));
    if (truth.spacing > 0.0)
      for (const int side : {-1, 1})
        lines.push_back(line_at(k * truth.base + side * truth.spacing, level - 12.0, sigma));
  }
  for (int i = 0; i < others; ++i)
    lines.push_back(line_at(2.0 * std::pow(40.0, draw_uniform(random)),
                            -50.0 + 8.0 * draw_normal(random), sigma));
  for (FamilyLine& line : lines) line.position *= 1.0 + sigma * draw_normal(random);
  return lines;
}

double share_found(const Truth& truth, int others, const std::string& expected,
                   const FamilyParameters& parameters = {}) {
  constexpr int sets = 100;
  constexpr double sigma = 3e-4;
  Random random(11);
  int found = 0;
  for (int i = 0; i < sets; ++i) {
    const auto families = find_families(draw_family(truth, others, sigma, random), parameters);
    found += std::any_of(families.begin(), families.end(), [&](const LineFamily& f) {
      return parts(f).starts_with(expected) && std::abs(f.base.value - truth.base) < 0.01;
    });
  }
  return static_cast<double>(found) / sets;
}

}  // namespace

TEST_CASE("The strongest line is nobody's sideband: a square wave and its folded harmonics") {
  // 300 Hz at 16 kHz: odd harmonics k at 20 lg(1/k), from the 27th on folded at 8 kHz.
  std::vector<FamilyLine> lines;
  for (int k = 1; k <= 53; k += 2) {
    const double hertz = std::abs(300.0 * k - 16000.0 * std::round(300.0 * k / 16000.0));
    lines.push_back(line_at(hertz, -20.0 * std::log10(k), 3e-4));
  }
  bool fundamental = false;
  for (const LineFamily& family : find_families(lines, {}))
    for (const FamilyMember& m : family.members) {
      if (m.line != 0) continue;
      fundamental = true;
      CHECK(m.multiple == 1);
      CHECK(m.sideband == 0);
    }
  CHECK(fundamental);
}

TEST_CASE("Lines are compared by the views that show both: errors of the view cancel") {
  // Order 11 and 22 by a speed that is 1 % wrong in one view and right in the other.
  const double wrong = std::log(1.01);
  const FamilyLine a{11.0,
                     0.06,
                     -30.0,
                     1.0,
                     {{0, std::log(11.0) + wrong, 1e-4, -30.0}, {1, std::log(11.0), 1e-4, -36.0}}};
  const FamilyLine b{22.0,
                     0.12,
                     -36.0,
                     1.0,
                     {{0, std::log(22.0) + wrong, 1e-4, -36.0}, {1, std::log(22.0), 1e-4, -42.0}}};
  const LineRelation r = relate(a, b);
  CHECK(r.log_ratio == doctest::Approx(std::log(2.0)).epsilon(1e-9));
  CHECK(r.sigma == doctest::Approx(1e-4).epsilon(1e-6));  // √2·1e-4, twice
  CHECK(r.level_difference_db == doctest::Approx(-6.0));
}

TEST_CASE("Without a view in common, lines are compared by their positions") {
  const FamilyLine a{10.0, 0.03, -30.0, 0.3, {{0, std::log(10.0), 1e-4, -30.0}}};
  const FamilyLine b{20.0, 0.08, -40.0, 0.4, {{1, std::log(20.0), 1e-4, -40.0}}};
  const LineRelation r = relate(a, b);
  CHECK(r.log_ratio == doctest::Approx(std::log(2.0)));
  CHECK(r.sigma == doctest::Approx(0.005));  // 0.3 % and 0.4 %
  CHECK(r.level_difference_db == doctest::Approx(-10.0));
  CHECK(r.level_sigma_db == doctest::Approx(0.5));
}

TEST_CASE("The base is known better than any of its harmonics") {
  // 10 ± 0.1, 20 ± 0.1, 30 ± 0.1: weights of the base go as k², so σ = 0.1/√14.
  std::vector<FamilyLine> lines{
      {10.0, 0.1, -30.0, 1.0, {}}, {20.0, 0.1, -36.0, 1.0, {}}, {30.0, 0.1, -40.0, 1.0, {}}};
  LineFamily family;
  family.members = {{0, 1, 0}, {1, 2, 0}, {2, 3, 0}};
  describe_family(family, lines);
  CHECK(family.base.value == doctest::Approx(10.0));
  CHECK(family.base.ci95.width() == doctest::Approx(2.0 * 1.96 * 0.1 / std::sqrt(14.0)));
}

TEST_CASE("A fundamental that is missing is inferred from its multiples") {
  const auto lines = lines_at({20.0, 30.0, 40.0, 50.0, 17.3, 61.7}, 2e-4);
  const auto families = find_families(lines);
  REQUIRE(families.size() == 1);
  CHECK(parts(families[0]) == "2x 3x 4x 5x");
  CHECK(families[0].base.ci95.contains(10.0));
  CHECK(!families[0].spacing);
  CHECK(families[0].false_alarm < 0.01);
}

TEST_CASE("The combs 10, 20, 30 and 12, 24, 36 are two families") {
  const auto lines = lines_at({10.0, 12.0, 20.0, 24.0, 30.0, 36.0, 40.0, 48.0}, 1e-4);
  const auto families = find_families(lines);
  REQUIRE(families.size() == 2);
  std::vector<double> bases{families[0].base.value, families[1].base.value};
  std::sort(bases.begin(), bases.end());
  CHECK(bases[0] == doctest::Approx(10.0).epsilon(1e-3));
  CHECK(bases[1] == doctest::Approx(12.0).epsilon(1e-3));
  for (const LineFamily& f : families) CHECK(parts(f) == "1x 2x 3x 4x");
}

TEST_CASE("Mains hum is a family of its own") {
  const auto families = find_families(lines_at({50.0, 100.0, 150.0, 200.0, 333.3, 710.9}, 2e-4));
  REQUIRE(families.size() == 1);
  CHECK(families[0].base.ci95.contains(50.0));
}

// Sidebands one turn of the faulty shaft away: Randall 1982 (ASME J. Mech. Design 104, 259), from
// memory. An inner race that is passed 4.9469 times a turn on a shaft that turns 2.7797 times as
// fast as the crankshaft.
TEST_CASE("Sidebands tell the turn of the shaft: harmonics and sidebands as one family") {
  const double base = 4.9469 * 2.7797;
  const double turn = 2.7797;
  std::vector<double> positions{base};
  for (int k = 1; k <= 3; ++k) {
    if (k > 1) positions.push_back(k * base);
    positions.push_back(k * base - turn);
    positions.push_back(k * base + turn);
  }
  positions.push_back(33.0);
  positions.push_back(19.2);
  const auto families = find_families(lines_at(positions, 2e-4));
  REQUIRE(families.size() == 1);
  CHECK(parts(families[0]) == "1x-1 1x 1x+1 2x-1 2x 2x+1 3x-1 3x 3x+1");
  CHECK(families[0].base.ci95.contains(base));
  REQUIRE(families[0].spacing);
  CHECK(families[0].spacing->ci95.contains(turn));
}

/// Orders 11 ± 1 at the given levels re the carrier.
std::vector<LineFamily> modulated(double lower_db, double upper_db) {
  std::vector<FamilyLine> lines{line_at(11.07, -30.0, 1e-4), line_at(10.07, -30.0 + lower_db, 1e-4),
                                line_at(12.07, -30.0 + upper_db, 1e-4)};
  FamilyParameters parameters;
  parameters.spacings = {1.0};
  return find_families(lines, parameters);
}

// Amplitude modulation of index m puts m/2 of the carrier on either side: sidebands at −26.02,
// −12.04, −6.02 dB for m = 0.1, 0.5, 1.0 (trigonometry).
TEST_CASE("Depth of an amplitude modulation from its sidebands") {
  for (const auto& [depth, level] :
       {std::pair(0.1, -26.02), std::pair(0.5, -12.04), std::pair(1.0, -6.02)}) {
    const auto families = modulated(level, level);
    REQUIRE(families.size() == 1);
    REQUIRE(families[0].modulations.size() == 1);
    const Modulation& m = families[0].modulations[0];
    CHECK(m.depth == doctest::Approx(depth).epsilon(2e-3));
    CHECK(m.depth_ci95.contains(depth));
    // √(0.5² + 0.5²) dB either way.
    CHECK(m.depth_ci95.high / m.depth == doctest::Approx(std::pow(10.0, 1.96 * 0.70711 / 20.0)));
    CHECK(m.asymmetry_db == doctest::Approx(0.0));
  }
}

// Phase modulation of index β: first sidebands J1(β)/J0(β), −26.01, −11.76, −4.81 dB for 0.1, 0.5,
// 1.0 (Bessel functions). By the first sidebands alone it reads as amplitude modulation that is a
// little deeper.
TEST_CASE("Phase modulation reads as the equivalent amplitude modulation") {
  for (const auto& [level, depth] :
       {std::pair(-26.01, 0.1001), std::pair(-11.76, 0.5165), std::pair(-4.81, 1.1496)}) {
    const auto families = modulated(level, level);
    REQUIRE(families.size() == 1);
    REQUIRE(families[0].modulations.size() == 1);
    CHECK(families[0].modulations[0].depth == doctest::Approx(depth).epsilon(2e-3));
  }
}

TEST_CASE("Sidebands that differ are reported as such; one alone gives no depth") {
  const auto families = modulated(-20.0, -14.0);
  REQUIRE(families.size() == 1);
  REQUIRE(families[0].modulations.size() == 1);
  CHECK(families[0].modulations[0].asymmetry_db == doctest::Approx(6.0));
  CHECK(families[0].modulations[0].depth == doctest::Approx(0.1 + std::pow(10.0, -0.7)));

  LineFamily one_sided;
  one_sided.members = {{0, 1, 0}, {1, 1, 1}};
  one_sided.spacing = Estimate{1.0, {}};
  describe_family(one_sided, lines_at({11.0, 12.0}));
  CHECK(one_sided.modulations.empty());
}

// A planetary set's mesh line vanishes where the ring's teeth are no multiple of the planets, and
// lines at multiples of planets × carrier order remain around it (McFadden and Smith 1985, Proc.
// IMechE 199 C1, 65): ring 80, three planets: 78 and 81 turns of the carrier, not 80.
TEST_CASE(
    "Planetary sidebands around a mesh line that is not there are a family with their spacing") {
  const double carrier_order = 0.3217;
  std::vector<FamilyLine> lines;
  for (const auto& [turns, level] :
       {std::pair(81, -30.0), std::pair(78, -33.0), std::pair(84, -41.0), std::pair(75, -44.0),
        std::pair(87, -50.0)})
    lines.push_back(line_at(turns * carrier_order, level, 1e-4));
  lines.push_back(line_at(14.3, -38.0, 1e-4));
  lines.push_back(line_at(41.9, -45.0, 1e-4));
  const auto families = find_families(lines);
  REQUIRE(families.size() == 1);
  CHECK(parts(families[0]) == "1x-2 1x-1 1x 1x+1 1x+2");
  REQUIRE(families[0].spacing);
  CHECK(families[0].spacing->ci95.contains(3.0 * carrier_order));
}

// The carrier of a phase modulation vanishes at β = 2.405, first zero of J0; J1 … J3 are then
// 0.519, 0.432, 0.199.
TEST_CASE("A carrier that modulation has emptied is found in the gap between its sidebands") {
  std::vector<FamilyLine> lines;
  for (const int side : {-3, -2, -1, 1, 2, 3}) {
    const double amplitude = std::abs(side) == 1 ? 0.519 : std::abs(side) == 2 ? 0.432 : 0.199;
    lines.push_back(line_at(23.7 + side * 1.31, -30.0 + 20.0 * std::log10(amplitude), 1e-4));
  }
  lines.push_back(line_at(47.1, -50.0, 1e-4));
  const auto families = find_families(lines);
  REQUIRE(families.size() == 1);
  CHECK(families[0].carrier_suppressed());
  CHECK(families[0].base.ci95.contains(23.7));
  CHECK(families[0].spacing->ci95.contains(1.31));
  CHECK(families[0].modulations.empty());
}

TEST_CASE("Whole orders that happen to be neighbours prove nothing on their grid") {
  // A pump of 11, a chain of 10 and 12: with the grid of crank-driven orders, no family.
  const auto lines = lines_at({11.0, 10.0, 12.0, 20.5, 31.0, 7.5}, 1e-4);
  FamilyParameters parameters;
  parameters.spacings = {1.0};
  CHECK(!find_families(lines, parameters).empty());
  parameters.grid = 0.5;
  CHECK(find_families(lines, parameters).empty());
}

TEST_CASE("Unrelated lines give a family at most as often as stated") {
  for (const auto& [fewest, most, sets] : {std::tuple{5, 20, 200}, std::tuple{21, 60, 100}}) {
    CAPTURE(most);
    CHECK(share_with_family({fewest, most, false}, sets, {}) <= 0.01);
    FamilyParameters known;
    known.spacings = {0.5, 1.0, 2.78};
    CHECK(share_with_family({fewest, most, false}, sets, known) <= 0.01);
    known.grid = 0.5;
    // What lies on half orders fits half orders more easily.
    CHECK(share_with_family({fewest, most, true}, sets, known) <= 0.01);
  }
}

TEST_CASE("True families are found among others") {
  FamilyParameters known;
  known.spacings = {0.5, 1.0};
  const std::string nested = "1x-1 1x 1x+1 2x-1 2x 2x+1 3x-1 3x 3x+1";
  CHECK(share_found({9.3, 4, 0.0}, 10, "1x 2x 3x 4x") > 0.9);
  CHECK(share_found({9.3, 3, 1.0}, 10, nested, known) > 0.9);
  CHECK(share_found({9.3, 3, 1.31}, 10, nested) > 0.9);
}
