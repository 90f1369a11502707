#include "dsp/tone_families.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

using namespace howl;

namespace {

FamilyLine line_at(double position, double level_db = -40.0, double relative_sigma = 5e-4) {
  return {position, relative_sigma * position, level_db, 0.5, {}};
}

std::vector<FamilyLine> lines_at(const std::vector<double>& positions, double relative_sigma = 5e-4) {
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
  MESSAGE("share of unrelated sets with a family: ", static_cast<double>(with) / sets);
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

double share_found(const Truth& truth, int others, double sigma, const std::string& expected,
                   const FamilyParameters& parameters = {}) {
  constexpr int sets = 200;
  Random random(11);
  int found = 0;
  for (int i = 0; i < sets; ++i) {
    const auto families = find_families(draw_family(truth, others, sigma, random), parameters);
    found += std::any_of(families.begin(), families.end(), [&](const LineFamily& f) {
      return parts(f).starts_with(expected) && f.base.ci95.contains(truth.base * 1.0) == true;
    });
  }
  MESSAGE("found: ", static_cast<double>(found) / sets);
  return static_cast<double>(found) / sets;
}

}  // namespace

TEST_CASE("Tail of the Poisson-binomial distribution") {
  // By hand: two trials 0.5 and 0.1: none 0.45, both 0.05.
  const std::vector<double> chances{0.5, 0.1};
  CHECK(poisson_binomial_tail(chances, 0) == doctest::Approx(1.0));
  CHECK(poisson_binomial_tail(chances, 1) == doctest::Approx(0.55));
  CHECK(poisson_binomial_tail(chances, 2) == doctest::Approx(0.05));
  CHECK(poisson_binomial_tail(chances, 3) == doctest::Approx(0.0));
}

TEST_CASE("Unrelated lines give a family at most as often as stated") {
  for (const auto& [fewest, most, sets] : {std::tuple{5, 20, 400}, std::tuple{21, 60, 200}}) {
    CAPTURE(most);
    CHECK(share_with_family({fewest, most, false}, sets, {}) <= 0.01);
    FamilyParameters known;
    known.spacings = {0.5, 1.0, 2.78};
    CHECK(share_with_family({fewest, most, false}, sets, known) <= 0.01);
    known.grid = 0.5;
    CHECK(share_with_family({fewest, most, true}, sets, known) <= 0.01);
  }
}

TEST_CASE("True families are found among others") {
  FamilyParameters known;
  known.spacings = {0.5, 1.0};
  CHECK(share_found({9.3, 4, 0.0}, 10, 3e-4, "1x 2x 3x 4x") > 0.0);
  CHECK(share_found({9.3, 1, 1.0}, 10, 3e-4, "1x-1 1x 1x+1", known) > 0.0);
  CHECK(share_found({9.3, 1, 1.0}, 10, 3e-4, "1x-1 1x 1x+1") > 0.0);
  CHECK(share_found({9.3, 3, 1.0}, 10, 3e-4, "1x-1 1x 1x+1 2x-1 2x 2x+1 3x-1 3x 3x+1", known) > 0.0);
  CHECK(share_found({9.3, 3, 1.0}, 10, 3e-4, "1x-1 1x 1x+1 2x-1 2x 2x+1 3x-1 3x 3x+1") > 0.0);
}
