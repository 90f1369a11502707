#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace howl::desk {

/// Levels as bytes, half a dB each: 255 is 0 dB re full-scale sine, 0 is −127.5 dB and all below.
std::uint8_t level_byte(double mean_square);
constexpr double byte_level_db(double byte) { return 0.5 * (byte - 255.0); }
/// Mean square that a level byte stands for; none for 0.
double level_power(std::uint8_t level);

/// Levels over time and lines, column-major.
struct LevelGrid {
  std::size_t columns{};
  std::size_t rows{};
  std::vector<std::uint8_t> level;

  std::uint8_t at(std::size_t column, std::size_t row) const { return level[column * rows + row]; }
};

/// A map of levels over time that can be drawn at any distance: level 0 has every column, each
/// further level half as many, each the mean of two (as energy), so that a steady tone keeps its
/// level. Columns lie evenly: column c of level l is centred at
/// first_time + (c·2^l + (2^l − 1)/2)·time_step.
struct LevelPyramid {
  double first_time{};
  double time_step{};
  double row_step{};          ///< Hz, or orders, from row 0 at 0
  std::size_t finest{};       ///< the first level that is held; finer ones are to be computed anew
  std::size_t all_columns{};  ///< at level 0
  std::vector<LevelGrid> levels;  ///< level `finest` and up
  double top_db{-127.5};          ///< loudest of `levels`
  double noise_db{-127.5};        ///< their median, in the rows that were counted for it

  std::size_t rows() const { return levels.empty() ? 0 : levels.front().rows; }
  /// The number of levels, those that are not held among them.
  std::size_t depth() const { return finest + levels.size(); }
};

/// Makes a grid of columns, each the mean of `merge` that are pushed; the last one of those left.
class ColumnMerger {
 public:
  ColumnMerger(std::size_t rows, std::size_t merge, std::size_t expected_columns = 0);
  void push(std::span<const float> power);
  LevelGrid finish();

 private:
  void keep();

  LevelGrid grid_;
  std::size_t merge_;
  std::vector<float> sum_;
  std::size_t in_sum_{};
};

/// Collects columns one after another. Holds no more than `most_columns` of them in the finest
/// level; where there are more, the means of 2, 4, 8 … are kept.
class PyramidBuilder {
 public:
  PyramidBuilder(std::size_t rows, std::size_t expected_columns, std::size_t most_columns);
  void push(std::span<const float> power);
  /// `noise_rows`: how many, from the lowest, count for noise_db.
  LevelPyramid finish(std::size_t noise_rows);

 private:
  std::size_t finest_;
  ColumnMerger merger_;
  std::size_t pushed_{};
};

}  // namespace howl::desk
