#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// The tones of one block of an order map, and what they make the squared envelope of a band do.
///
/// A squared envelope is a sum over pairs of what lies in the band: two lines of mean squares P and
/// Q make it swing at their distance with the mean square 8·P·Q (|a + b|² has 2·Re(a·b̄); Randall,
/// Antoni and Chobsaard 2001, MSSP 15, 945–962). Blows ring broadly: their swing is the sum over
/// very many pairs. So tones are set apart from the rest first (discrete/random separation: Antoni
/// and Randall 2004, MSSP 18, 89–117; both from memory), and what pairs with a tone in them explain
/// is no sign of blows.
class BlockTones {
 public:
  /// `power` as in OrderColumn, Hann, `spacing` orders between lines. A tone is a line, or
  /// a few side by side, that noise of the block's own floor has anywhere with a chance of 1 %; the
  /// strongest 200 count. `smear` is the relative standard deviation of what speed is left
  /// unfollowed: a tone of high order is as much wider, up to a quarter of an order.
  BlockTones(std::span<const float> power, double spacing, double smear);

  /// Mean square at lines 0 … lines − 1 of the band's squared envelope's order spectrum, same
  /// spacing. `gain` is the band's amplitude gain at an order; it passes nothing outside `orders`.
  /// Pairs of tones at like distance are taken to be in phase, the most that they can make; so are
  /// the two sides of a tone. For a tone and what lies between the tones the floor's share is taken
  /// off, so that values scatter by a fraction of the floor's where nothing is.
  std::vector<double> beats(const Interval& orders, const std::function<double(double order)>& gain,
                            std::size_t lines) const;

 private:
  struct Tone {
    std::size_t line{};
    std::size_t reach{};  ///< lines to either side that are its
    double power{};       ///< mean square
  };

  /// What a band lets through.
  struct Passed {
    std::vector<Tone> tones;
    std::size_t first{};              ///< line
    std::vector<double> rest_before;  ///< sums of `rest_` from there on, before each line
  };

  Passed passed(const Interval& orders, const std::function<double(double)>& gain) const;
  static void add_pair(const Tone& a, const Tone& b, std::vector<double>& swing);
  static void add_pairs_with_rest(const Tone& tone, const Passed& band, std::vector<double>& power);
  void take_tones(const std::vector<double>& power, const std::vector<double>& floor, double smear);

  double spacing_;
  std::vector<Tone> tones_;
  std::vector<double> rest_;  ///< over the floor, outside the tones, in mean square
};

}  // namespace howl
