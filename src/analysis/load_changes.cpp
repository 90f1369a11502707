#include "src/analysis/load_changes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <set>

#include "dsp/level_change.h"
#include "src/analysis/like_takes.h"
#include "src/analysis/tone_meter.h"
#include "src/profile/load_tests.h"

namespace howl {

namespace {

/// Takes of one point that differ in the state of one load test only; places in the list.
struct Cell {
  std::vector<std::size_t> base;
  std::vector<std::size_t> loaded;
};

LoadState without(LoadState load, const std::string& key) {
  load.erase(key);
  return load;
}

std::optional<bool> state_of(const LoadTest& test, const TakeAudio& take) {
  const auto value = take.load.find(test.key);
  return value == take.load.end() ? false : is_loaded(test, value->second);
}

bool differ_in_test_only(const LoadTest& test, const TakeAudio& a, const TakeAudio& b) {
  return a.point == b.point && without(a.load, test.key) == without(b.load, test.key) &&
         (test.vehicle_moves || like_speed(a, b));
}

/// Each take belongs to the cell of the first base take that it can be compared with.
std::vector<Cell> cells_of(const LoadTest& test, const std::vector<TakeAudio>& takes) {
  std::vector<Cell> cells;
  const auto home = [&](std::size_t i) {
    return std::ranges::find_if(cells, [&](const Cell& cell) {
      return differ_in_test_only(test, takes[cell.base.front()], takes[i]);
    });
  };
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (state_of(test, takes[i]) != false) continue;
    const auto cell = home(i);
    if (cell == cells.end())
      cells.push_back({{i}, {}});
    else
      cell->base.push_back(i);
  }
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (state_of(test, takes[i]) != true) continue;
    if (const auto cell = home(i); cell != cells.end()) cell->loaded.push_back(i);
  }
  std::erase_if(cells, [](const Cell& cell) { return cell.loaded.empty(); });
  return cells;
}

/// The band in each take, read once however many tests ask for it.
class BandReadings {
 public:
  BandReadings(const std::vector<TakeAudio>& takes, const AnalysisRequest::Band& band)
      : takes_(takes), window_{band, false}, read_(takes.size()) {}

  const std::optional<WindowReading>& operator[](std::size_t take) {
    if (!read_[take]) read_[take] = read_take(takes_[take], std::array{window_}).windows.front();
    return *read_[take];
  }

 private:
  const std::vector<TakeAudio>& takes_;
  ToneWindow window_;
  std::vector<std::optional<std::optional<WindowReading>>> read_;
};

std::vector<WindowBlocks> blocks_of(const std::vector<std::size_t>& takes, BandReadings& readings) {
  std::vector<WindowBlocks> blocks;
  for (const std::size_t i : takes)
    if (const auto& reading = readings[i]) blocks.push_back(reading->blocks);
  return blocks;
}

std::optional<double> log_order_in(const ToneResult& tone, const std::string& take) {
  std::vector<double> logs;
  for (const TrackPoint& p : tone.track)
    if (p.take == take) logs.push_back(std::log(60.0 * p.frequency_hz / p.rpm));
  if (logs.empty()) return std::nullopt;
  return median(logs);
}

struct LogOrder {
  double value{};
  double sigma{};
};

/// Mean over takes; each has its own error of speed.
std::optional<LogOrder> mean_log_order(const ToneResult& tone, const std::vector<std::size_t>& from,
                                       const std::vector<TakeAudio>& takes) {
  LogOrder sum;
  double count = 0.0;
  for (const std::size_t i : from) {
    const auto order = log_order_in(tone, takes[i].id);
    if (!order) continue;
    sum.value += *order;
    sum.sigma = std::hypot(sum.sigma, takes[i].speed.relative_error());
    count += 1.0;
  }
  if (count == 0.0) return std::nullopt;
  return LogOrder{sum.value / count, sum.sigma / count};
}

std::optional<LogEstimate> order_ratio(const ToneResult& tone, const std::vector<Cell>& cells,
                                       const std::vector<TakeAudio>& takes) {
  double weight = 0.0;
  double sum = 0.0;
  for (const Cell& cell : cells) {
    const auto base = mean_log_order(tone, cell.base, takes);
    const auto loaded = mean_log_order(tone, cell.loaded, takes);
    if (!base || !loaded) continue;
    const double variance =
        std::max(1e-8, base->sigma * base->sigma + loaded->sigma * loaded->sigma);
    weight += 1.0 / variance;
    sum += (loaded->value - base->value) / variance;
  }
  if (weight == 0.0) return std::nullopt;
  return LogEstimate{std::exp(sum / weight), 1.0 / std::sqrt(weight)};
}

void note_takes(const Cell& cell, const std::vector<TakeAudio>& takes, LoadChange& effect) {
  if (std::ranges::find(effect.points, takes[cell.base.front()].point) == effect.points.end())
    effect.points.push_back(takes[cell.base.front()].point);
  for (const std::size_t i : cell.base) effect.takes_base.push_back(takes[i].id);
  for (const std::size_t i : cell.loaded) effect.takes_loaded.push_back(takes[i].id);
}

std::optional<LoadChange> effect_of(const LoadTest& test, const std::vector<TakeAudio>& takes,
                                    BandReadings& readings, const ToneResult* tone) {
  LoadChange effect;
  effect.test = test.key;
  const std::vector<Cell> cells = cells_of(test, takes);
  std::vector<ChangeCell> measured;
  for (const Cell& cell : cells) {
    std::vector<WindowBlocks> base = blocks_of(cell.base, readings);
    std::vector<WindowBlocks> loaded = blocks_of(cell.loaded, readings);
    if (base.empty() || loaded.empty()) continue;
    note_takes(cell, takes, effect);
    measured.push_back({std::move(base), std::move(loaded)});
  }
  if (measured.empty()) return std::nullopt;
  const ChangeEstimate change = level_change(measured, {}).absolute;
  effect.change_db = change.change_db;
  effect.low_db = change.low_db;
  effect.high_db = change.high_db;
  if (tone != nullptr && !test.vehicle_moves) effect.order_ratio = order_ratio(*tone, cells, takes);
  return effect;
}

}  // namespace

std::vector<LoadChange> load_changes(const std::vector<TakeAudio>& takes,
                                     const AnalysisRequest::Band& band, const ToneResult* tone) {
  BandReadings readings(takes, band);
  std::vector<LoadChange> effects;
  for (const LoadTest& test : load_tests())
    if (auto effect = effect_of(test, takes, readings, tone)) effects.push_back(std::move(*effect));
  return effects;
}

}  // namespace howl
