#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "dsp/line_relations.h"
#include "dsp/statistics.h"

namespace howl {

struct FamilyParameters {
  /// Chance, per call, that lines which have nothing to do with one another give any family.
  double false_alarm{0.01};
  int highest_multiple{8};   ///< of the base
  int highest_missing{3};    ///< how many of the lowest harmonics may be missing
  int farthest_sideband{3};  ///< from the carrier, in spacings
  double match_sigmas{2.5};
  /// Spacings to be expected: turns of known shafts, in the unit of the positions.
  std::vector<double> spacings;
  /// Step on which unrelated lines lie by their nature: half an order, for what the crankshaft
  /// drives by gears or directly. Coincidences on it prove less.
  std::optional<double> grid;
};

/// A line's part in its family: harmonic `multiple` of the base, or the `sideband`-th line beside
/// that harmonic (negative: below).
struct FamilyMember {
  std::size_t line{};
  int multiple{1};
  int sideband{0};
};

struct Estimate {
  double value{};
  Interval ci95{};  ///< from the lines' own errors; errors that all share are not in it
};

/// How strongly a carrier is modulated, from the first sidebands on both sides. Levels alone cannot
/// tell amplitude from phase modulation: the depth is that of an equivalent amplitude modulation,
/// whose sidebands are each depth/2 of the carrier.
struct Modulation {
  std::size_t carrier{};  ///< line
  double depth{};         ///< 0.2 = 20 %
  Interval depth_ci95{};
  double asymmetry_db{};  ///< upper first sideband over lower
};

/// Lines that belong together: harmonics of one base, or one carrier (multiple 1), each perhaps
/// with sidebands at one spacing.
struct LineFamily {
  Estimate base;
  std::optional<Estimate> spacing;
  std::vector<FamilyMember> members;    ///< the line they are judged from first, by position then
  std::vector<Modulation> modulations;  ///< strongest carrier first
  /// Upper bound on the chance that unrelated lines, as many and as dense, give such a family
  /// anywhere.
  double false_alarm{};

  bool harmonic() const;            ///< two or more harmonics
  bool carrier_suppressed() const;  ///< sidebands around a carrier that no line shows
};

/// The members without sidebands that outdo their own carrier and are more than 6 dB stronger than
/// their mirror: strangers, which stay for other families. `level_db` in dB, of a line.
std::vector<FamilyMember> without_strangers(
    const std::vector<FamilyMember>& members,
    const std::function<double(std::size_t line)>& level_db);

/// Finds families among lines.
///
/// A hypothesis is anchored at one line: it is the k-th harmonic of a base, or a carrier whose
/// sidebands lie at a known spacing or at the distance of a neighbouring line. It then says where
/// other lines must be, in slots as wide as `match_sigmas` of the lines' errors. For lines without
/// relation, a slot holds a line with the chance width × density of the lines around (counted over
/// ±0.35 in ln, and near the carrier), and the number of filled slots is Poisson-binomial. How many
/// multiples or sidebands are looked at is scanned (dsp/coincidences.h). The chance of what was
/// found, divided by the hypothesis's share of all those tried (shares fall as 1/rank: strong
/// anchors, low multiples and near neighbours come first, and add up to 1), bounds the chance
/// that unrelated lines give such a family anywhere (Bonferroni, with weights). Families above
/// `false_alarm` are not reported. Where levels fall or which harmonics are strong is not used.
///
/// A family's lines explain nothing else, and the rest is searched again. Where several families
/// compete for lines, the choice is by description length: −lg of the bound is what a family saves
/// over lines that lie anywhere, and of the few best ones that is taken which, together with the
/// best that is left after it, saves most. Harmonics and their sidebands are also tried as one
/// hypothesis. A line stronger than all the carriers that it would stand beside is no sideband of
/// theirs; nor is a stranger beside its own (without_strangers).
///
/// A carrier may be missing: then `base` lies in the gap between the two strongest sidebands, two
/// spacings apart (a planetary set's mesh line vanishes in this way: McFadden and Smith 1985).
std::vector<LineFamily> find_families(std::span<const FamilyLine> lines,
                                      const FamilyParameters& parameters = {});

}  // namespace howl
