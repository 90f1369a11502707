#pragma once

#include <optional>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

struct CombustionParameters {
  /// Chance that a line of the engine's own is taken for another's because it stands out.
  double stands_out{0.01};
  /// The same in one take, of which there are many.
  double swells{0.001};
  /// Scatter of the levels of firing orders about a smooth fall, as transfer paths leave it, before
  /// the case's own lines are seen, and how many lines that knowledge is worth. Our choice.
  double scatter_db{3.0};
  double scatter_worth{4.0};
};

/// Marks the tones that are the engine's own: speed-locked, at firing orders (multiples of
/// cylinders/2) or at the other multiples of half an order, which come from cylinders that differ.
///
/// An order that the speed's error leaves wider than that grid is measured by three or more tones
/// that surely are half orders, at the same moments, to 0.2 %.
///
/// The levels of either kind fall smoothly with order: a straight line in dB against ln order
/// (median of pairwise slopes, Theil 1950, Sen 1968). Each tone is judged by the line through the
/// others that do not stand out: it stands out, and is not the engine's own, above the one-sided
/// prediction limit (Student's t, with a scatter that lines of the case and prior knowledge give
/// together). A pump whose order is a firing multiple thus remains a howl when it is louder than
/// its neighbours let one expect.
///
/// A firing order that stands out by the same judgement in half of the takes held at one speed, and
/// is prominent, is what howls at that speed: a resonance that firing lights up comes and goes with
/// the revs, and typical levels do not show it. Where a prominent tone of fixed pitch lies there,
/// that is the howl.
///
/// With fewer than three other firing orders: those up to 1.5 times the number of cylinders. Half
/// orders with fewer than three others are the engine's own where they lie so far below the firing
/// orders' line as those may scatter; prominent ones never are. A prominent one between two whole
/// orders may be, where it is no stronger than the others' line lets expect: a crankshaft drives
/// nothing at half orders, but a belt's order may happen to lie there. Without the number of
/// cylinders: multiples of half an order up to order 6.
///
/// A tone whose behaviour is undetermined may be combustion where a firing order up to twice the
/// number of cylinders lies within the 95 % interval of what its order would be, and by the same
/// judgement of levels it does not stand out. Beyond, an interval from a speed that was read off a
/// gauge (0.5 %) covers so much of the grid that one tone in ten would lie on it by chance; an
/// order known to 0.4 % (95 %), as the take's other half orders measure it, may lie beyond.
void mark_combustion(std::vector<ToneResult>& tones, std::optional<int> cylinders,
                     const CombustionParameters& parameters = {});

}  // namespace howl
