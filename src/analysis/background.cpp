#include "src/analysis/background.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <utility>

#include "dsp/spectrogram.h"
#include "src/analysis/band_levels.h"
#include "src/analysis/like_takes.h"
#include "src/analysis/sighting.h"

namespace howl {

namespace {

constexpr double kLinesInBand = 8.0;
constexpr double kHannBins = 1.5;
constexpr std::size_t kSpeedSamples = 200;

/// How well a background take suits a take; the best first.
enum class Fit {
  same_point_without_suspect,
  same_point_engine_off,
  other_point_without_suspect,
  other_point_engine_off,
  none
};

Fit fit_of(const TakeAudio& background, const TakeAudio& take) {
  const bool same_point = background.point == take.point;
  if (background.engine_off)
    return same_point ? Fit::same_point_engine_off : Fit::other_point_engine_off;
  if (!like_speed(background, take)) return Fit::none;
  return same_point ? Fit::same_point_without_suspect : Fit::other_point_without_suspect;
}

bool at_other_point(Fit fit) {
  return fit == Fit::other_point_without_suspect || fit == Fit::other_point_engine_off;
}

struct Choice {
  Fit fit{Fit::none};
  std::vector<std::size_t> takes;  ///< places in the list of background takes
};

Choice choose(const TakeAudio& take, std::span<const TakeAudio> background) {
  Choice best;
  for (std::size_t i = 0; i < background.size(); ++i) {
    const Fit fit = fit_of(background[i], take);
    if (fit > best.fit || fit == Fit::none) continue;
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
  for (std::size_t i = 0; i < kSpeedSamples; ++i) {
    const double share = (static_cast<double>(i) + 0.5) / kSpeedSamples;
    const Rpm speed = running.speed.at(running.speed.time_at(from + share * turns));
    const double low = frequency_of(Order(orders.low), speed).value / spacing + 0.5;
    const double high = frequency_of(Order(orders.high), speed).value / spacing + 0.5;
    for (auto k = static_cast<std::size_t>(low); k < lines && static_cast<double>(k) < high; ++k) {
      const auto line = static_cast<double>(k);
      const double covered = std::min(high, line + 1.0) - std::max(low, line);
      weights[k] += covered / (kHannBins * kSpeedSamples);
    }
  }
  return weights;
}

std::vector<double> blocks_of(const TakeAudio& background, const TakeAudio& take,
                              const AnalysisRequest::Band& band) {
  if (background.engine_off && band.unit == AnalysisRequest::Band::Unit::order)
    return swept_band_blocks(background, take, band.range);
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
  std::map<std::pair<std::size_t, std::vector<std::size_t>>, std::optional<std::size_t>> known;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!wanted[i]) continue;
    const Choice choice = choose(takes[i], background);
    const auto [place, is_new] = known.try_emplace({conditions[i], choice.takes}, std::nullopt);
    if (is_new) {
      BackgroundBlocks blocks = pooled(choice, takes[i], background, band);
      if (!blocks.block_power.empty()) {
        place->second = matched.backgrounds.size();
        matched.backgrounds.push_back(std::move(blocks));
      }
    }
    matched.of_take[i] = place->second;
    std::set<std::string>& warnings = matched.warnings[takes[i].point];
    if (!place->second)
      warnings.insert("no background take at like speed, so nothing is taken off; record one");
    else if (at_other_point(choice.fit))
      warnings.insert(fmt::format(
          "no background take at this point; that of {} is taken off instead, record one here",
          ids_of(choice, background)));
  }
  return matched;
}

}  // namespace howl
