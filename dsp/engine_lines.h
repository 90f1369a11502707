#pragma once

#include <optional>
#include <vector>

#include "dsp/spectrum.h"

namespace howl {

/// A line of an order spectrum.
struct OrderLine {
  double order{};
  double sigma{};     ///< of `order`
  double level_db{};  ///< any reference, the same throughout
};

/// The lines of an order spectrum whose crankshaft speed is a guess, and where none could be seen.
struct OrderLines {
  std::vector<OrderLine> lines;  ///< by order
  double lowest{};               ///< the part of the spectrum that was searched
  double highest{};
  double spacing{};              ///< of `limit_db`, from order 0 on
  std::vector<double> limit_db;  ///< level from which a line would have been seen

  double limit_at(double order) const;
};

/// Lines that stand out of the floor, by so much more as the averages are few: a line that noise
/// makes is as rare in every spectrum (2.8 standard deviations of a noise line).
OrderLines order_lines(const PowerSpectrum& orders, double lowest, double highest);

/// How well lines fit an engine.
struct EngineFit {
  /// Natural logarithm of how much likelier the lines are with this engine than without any.
  double log_evidence{};
  double scale{1.0};  ///< on top of the given ratio, a fraction of a per cent
  double scale_sigma{};
  int firing_seen{};      ///< firing orders that stand out …
  int firing_possible{};  ///< … of so many
};

/// Evidence that lines come from a four-stroke engine whose crankshaft turns `ratio` times as fast
/// as the lines' orders were counted with, and which has so many cylinders.
///
/// Lines are a marked point process: firing orders, multiples of cylinders/2, have levels along a
/// falling line in dB over ln order, 7 dB to either side; other half orders, in groups that are
/// alike because every cylinder fires alike in each cycle, lie by an unknown amount below them that
/// is each group's own, and may not show; a line that is expected and missing has to be below the
/// limit; lines of other origin lie anywhere, at any level. So half the true speed has to explain
/// why every second firing order is missing or weak, and twice the speed why lines stand where none
/// should. The parameters are our choice, common practice for the spread that structure and probe
/// cause.
EngineFit fit_engine(const OrderLines& view, double ratio, int cylinders);

}  // namespace howl
