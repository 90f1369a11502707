#pragma once

#include <string>
#include <vector>

#include "src/profile/source.h"
#include "src/reasoning/howl.h"

namespace howl {

/// Standard deviation, dB, of a level at a probe point about what the profile foretells (common
/// practice).
inline constexpr double kTransferSd = 6.0;

/// Share of load tests whose outcome the profile does not foretell though the source is at fault
/// (common practice).
inline constexpr double kReactionSurprise = 0.1;

/// How much better a source explains one observation than 'something not in this profile' does.
struct Explained {
  std::string id;      ///< "pitch", "order", "where", "load:steering" …
  double log_ratio{};  ///< natural logarithm of the likelihood ratio
  std::string text;    ///< what was observed, and what the source would give
};

/// Every observation of the howl under one source; for all sources the same observations in the
/// same order. Something not in the profile may follow any law, at any order, be loudest at any
/// point and react to loads in any way: its likelihood is the broad one to which all are compared.
///
/// Each observation is one item, however many takes showed it: harmonics and sidebands of a family
/// are not tones of their own, all takes of a point are in its level, all pairs of a load test are
/// one change. No item can speak against a source beyond the share kept for surprises in each
/// model, so that a wrong line in a profile cannot hide a culprit.
///
/// Models. Pitch: chance of each law under each way of turning, times the law's marginal
/// likelihood. Order: uniform over each expected line's place, widened by the errors of measurement
/// and speed (ISO/IEC Guide 98-3, convolution), or the same line's second or third harmonic. Where:
/// density of the levels at all points, if they arrive as the profile says to within 6 dB, in
/// one vehicle of five to within 12 dB (common practice), from a source of any strength. Loads:
/// normal densities for each reaction.
std::vector<Explained> explain(const Howl& howl, const Source& source);

/// What the pitch of a source does, by law; sums to 1. Also of use before anything is recorded.
struct LawChances {
  double fixed{};
  double locked{};
  double belt{};
  double road{};
  double free{};
};
LawChances law_chances(const Turning& turning);
LawChances unknown_law_chances();

/// Chances of what a load test does to a source's sound; sums to 1.
struct ReactionChances {
  double louder{};
  double quieter{};
  double starts{};
  double stops{};
  double same{};
};
ReactionChances reaction_chances(Reaction reaction);

/// How many times better a source's lines, or their low harmonics, explain an order than an unknown
/// source does; 1 where its orders are not known.
double order_support(const Source& source, const LogEstimate& order);

/// For each of `points`, the chance that it is the loudest of them if `source` howls; sums to 1.
std::vector<double> loudest_chances(const Source& source, const std::vector<std::string>& points);

}  // namespace howl
