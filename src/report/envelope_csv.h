#pragma once

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <string>

#include "src/analysis/isolate.h"

namespace howl {

/// Frequency, level and phase of isolated tones over time, as CSV: lines that begin with # say what
/// the file holds, then a line names the columns. A row for every point that the envelope needs,
/// 100 a second at most. Levels are dB re full-scale sine; an amplitude of 0 leaves its level and
/// phase empty. Throws Error (machine fault) where it cannot be written.
class EnvelopeCsv {
 public:
  EnvelopeCsv(std::filesystem::path file, const Take& take, const TakeIsolation& isolation);

  void add(const FilteredPiece& piece);
  /// Must be called for the file to be whole.
  void close();

 private:
  void require_written() const;

  std::filesystem::path file_;
  const TakeIsolation& isolation_;
  std::int64_t step_;
  std::ofstream out_;
};

}  // namespace howl
