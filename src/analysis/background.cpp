#include "src/analysis/background.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <utility>

#include "dsp/spectrogram.h"
#include "dsp/window.h"
#include "src/analysis/band_levels.h"
#include "src/analysis/like_takes.h"
#include "src/analysis/passing_sweep.h"
#include "src/analysis/sighting.h"

namespace howl {

namespace {

constexpr std::size_t kSpeedSamples = 200;
constexpr std::size_t kFewestPassingBlocks = 4;

/// How well a background take suits a take; the best first.
enum class Fit {
  same_point_without_suspect,
  same_point_passing,
  same_point_engine_off,
  other_point_without_suspect,
  other_point_passing,
  other_point_engine_off,
  none
};

Fit fit_of(const TakeAudio& background, const TakeAudio& take) {
  const bool same_point = background.point == take.point;
  if (background.engine_off)
    return same_point ? Fit::same_point_engine_off : Fit::other_point_engine_off;
  if (!passes(background, take).empty())
    return same_point ? Fit::same_point_passing : Fit::other_point_passing;
  if (!like_speed(background, take)) return Fit::none;
  return same_point ? Fit::same_point_without_suspect : Fit::other_point_without_suspect;
}

bool at_other_point(Fit fit) {
  return fit == Fit::other_point_without_suspect || fit == Fit::other_point_passing ||
         fit == Fit::other_point_engine_off;
}

bool passing(Fit fit) { return fit == Fit::same_point_passing || fit == Fit::other_point_passing; }

struct Choice {
  Fit fit{Fit::none};
  std::vector<std::size_t> takes;  ///< places in the list of background takes
};

Choice choose(const TakeAudio& take, std::span<const TakeAudio> background, bool with_passing) {
  Choice best;
  for (std::size_t i = 0; i < background.size(); ++i) {
    const Fit fit = fit_of(background[i], take);
    if (fit > best.fit || fit == Fit::none || (passing(fit) && !with_passing)) continue;
    if (fit < best.fit) best = {fit, {}};
    best.takes.push_back(i);
  }
  return best;
}

/// Weights of the lines of a spectrum, whose sum over power is the mean square in a band of orders,
/// averaged over equal steps of the running take's crankshaft angle.
std::vector<double> swept_weights(const TakeAudio& running, const Interval& orders, double spacing,
                                  std::size_t lines) {
  std::vector<double> weights(lines, 0.0);
  const double from = running.speed.revolutions_at(Seconds(0.0));
  const double turns = running.speed.revolutions_at(Seconds(running.seconds)) - from;
  const TimeSpans unknown = without_speed(running);
  std::vector<Rpm> speeds;
  for (std::size_t i = 0; i < kSpeedSamples; ++i) {
    const double share = (static_cast<double>(i) + 0.5) / kSpeedSamples;
    const Seconds time = running.speed.time_at(from + share * turns);
    if (!contains(unknown, time.value)) speeds.push_back(running.speed.at(time));
  }
  for (const Rpm speed : speeds) {
    const double low = frequency_of(Order(orders.low), speed).value / spacing + 0.5;
    const double high = frequency_of(Order(orders.high), speed).value / spacing + 0.5;
    for (auto k = static_cast<std::size_t>(low); k < lines && static_cast<double>(k) < high; ++k) {
      const auto line = static_cast<double>(k);
      const double covered = std::min(high, line + 1.0) - std::max(low, line);
      weights[k] += covered / (kHannNoiseBins * static_cast<double>(speeds.size()));
    }
  }
  return weights;
}

std::vector<double> blocks_of(const TakeAudio& background, const TakeAudio& take,
                              const AnalysisRequest::Band& band) {
  if (background.engine_off && band.unit == AnalysisRequest::Band::Unit::order)
    return swept_band_blocks(background, take, band.range);
  if (!is_hold(background) && is_hold(take))
    return band_blocks(passing_part(background, take), band).block_power;
  return band_blocks(background, band).block_power;
}

BackgroundBlocks pooled(const Choice& choice, const TakeAudio& take,
                        std::span<const TakeAudio> background, const AnalysisRequest::Band& band) {
  BackgroundBlocks all{{}, 0};
  for (const std::size_t i : choice.takes) {
    const std::vector<double> own = blocks_of(background[i], take, band);
    if (own.empty()) continue;
    all.block_power.insert(all.block_power.end(), own.begin(), own.end());
    ++all.takes;
  }
  return all;
}

struct Taken {
  bool with_passing{};
  BackgroundBlocks blocks;
};

/// What suits best and can be measured: too few blocks of a passing sweep tell nothing of their
/// spread.
Taken taken_off(const Choice& wish, const TakeAudio& take, std::span<const TakeAudio> background,
                const AnalysisRequest::Band& band) {
  BackgroundBlocks blocks = pooled(wish, take, background, band);
  if (!passing(wish.fit) || blocks.block_power.size() >= kFewestPassingBlocks)
    return {true, std::move(blocks)};
  return {false, pooled(choose(take, background, false), take, background, band)};
}

std::string nothing_taken_off(const TakeAudio& take, std::span<const TakeAudio> background) {
  const bool sweeps =
      is_hold(take) && std::any_of(background.begin(), background.end(),
                                   [](const TakeAudio& b) { return !b.engine_off && !is_hold(b); });
  return fmt::format(
      "no background take at like speed, so nothing is taken off; record one{}",
      sweeps ? fmt::format(" at {:.0f} rpm, or a sweep that takes longer to pass that speed",
                           mean_rpm(take))
             : "");
}

std::string ids_of(const Choice& choice, std::span<const TakeAudio> background) {
  std::vector<std::string> ids;
  for (const std::size_t i : choice.takes)
    ids.push_back(fmt::format("{} ({})", background[i].id, background[i].point));
  return fmt::format("{}", fmt::join(ids, ", "));
}

}  // namespace

SortedTakes sort_out_background(std::vector<TakeAudio> takes) {
  SortedTakes sorted;
  for (TakeAudio& take : takes) {
    auto& home = take.engine_off || take.background ? sorted.background : sorted.working;
    home.push_back(std::move(take));
  }
  return sorted;
}

std::vector<double> swept_band_blocks(const TakeAudio& engine_off, const TakeAudio& running,
                                      const Interval& orders) {
  const SpeedCurve::Range speed = speed_range(running);
  if (frequency_of(Order(orders.high), speed.high).value > 0.5 * engine_off.sample_rate) return {};
  const double width = frequency_of(Order(orders.width()), speed.low).value;
  const double seconds =
      std::clamp(kLinesInBand / width, 0.05, std::clamp(engine_off.seconds / 4.0, 0.05, 1.0));
  const std::size_t length =
      std::max<std::size_t>(32, power_of_two_from(seconds * engine_off.sample_rate));
  SpectrogramStream spectrogram({WindowKind::hann, length, length / 2});
  const std::vector<double> weights = swept_weights(
      running, orders, engine_off.sample_rate / static_cast<double>(length), spectrogram.lines());
  std::vector<double> blocks;
  const auto take_columns = [&](std::size_t, std::span<const float> columns) {
    for (; !columns.empty(); columns = columns.subspan(weights.size()))
      blocks.push_back(std::inner_product(
          weights.begin(), weights.end(), columns.begin(), 0.0, std::plus<>(),
          [](double weight, float power) { return weight * static_cast<double>(power); }));
  };
  engine_off.stream([&](std::span<const float> chunk) { spectrogram.push(chunk, take_columns); });
  spectrogram.flush(take_columns);
  return blocks;
}

MatchedBackground match_background(std::span<const TakeAudio> takes,
                                   std::span<const std::size_t> conditions,
                                   const std::vector<bool>& wanted,
                                   std::span<const TakeAudio> background,
                                   const AnalysisRequest::Band& band) {
  MatchedBackground matched;
  matched.of_take.resize(takes.size());
  if (background.empty()) return matched;
  struct Known {
    bool with_passing{};
    std::optional<std::size_t> place;
  };
  std::map<std::pair<std::size_t, std::vector<std::size_t>>, Known> known;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!wanted[i]) continue;
    const Choice wish = choose(takes[i], background, true);
    const auto [entry, is_new] = known.try_emplace({conditions[i], wish.takes}, Known{});
    auto& [with_passing, place] = entry->second;
    if (is_new) {
      Taken taken = taken_off(wish, takes[i], background, band);
      with_passing = taken.with_passing;
      if (!taken.blocks.block_power.empty()) {
        place = matched.backgrounds.size();
        matched.backgrounds.push_back(std::move(taken.blocks));
      }
    }
    matched.of_take[i] = place;
    std::set<std::string>& warnings = matched.warnings[takes[i].point];
    if (!place)
      warnings.insert(nothing_taken_off(takes[i], background));
    else if (const Choice choice = choose(takes[i], background, with_passing);
             at_other_point(choice.fit))
      warnings.insert(fmt::format(
          "no background take at this point; that of {} is taken off instead, record one here",
          ids_of(choice, background)));
  }
  return matched;
}

}  // namespace howl
