#include "src/analysis/family_lines.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kPieceSeconds = 0.5;
constexpr std::size_t kPiecesATake = 100000;
/// Error of a reading, in ln f, that its own estimate leaves out: lines close by, and the blur of a
/// pitch that moves during the block. Our choice.
constexpr double kLeastReadingSigma = 3e-4;
constexpr double kLevelSigmaDb = 1.5;  // of one reading: noise, and resonances passed

struct LineReading {
  double log_position;
  double sigma;
  double level_db;
};

/// ln of what a behaviour keeps constant.
std::optional<double> log_position(Behaviour behaviour, const TrackPoint& p,
                                   const TakeAudio& take) {
  const double log_hz = std::log(p.frequency_hz);
  if (behaviour == Behaviour::speed_locked) return log_hz - std::log(p.rpm / 60.0);
  if (behaviour != Behaviour::road_locked) return log_hz;
  const auto kmh = road_speed_at(take, p.time_s);
  if (!kmh || *kmh <= 0.0) return std::nullopt;
  return log_hz - std::log(*kmh / 3.6);
}

LineSight condensed(std::size_t view, const std::vector<LineReading>& readings) {
  std::vector<double> positions;
  std::vector<double> sigmas;
  std::vector<double> levels;
  for (const LineReading& r : readings) {
    positions.push_back(r.log_position);
    sigmas.push_back(r.sigma);
    levels.push_back(r.level_db);
  }
  const double own = mean(sigmas) / std::sqrt(static_cast<double>(readings.size()));
  return {view, mean(positions), std::hypot(own, kLeastReadingSigma), mean(levels)};
}

std::vector<LineSight> sights_of(const ToneResult& tone, const std::vector<TakeAudio>& takes) {
  std::map<std::size_t, std::vector<LineReading>> pieces;
  for (const TrackPoint& p : tone.track) {
    const auto take = std::find_if(takes.begin(), takes.end(),
                                   [&](const TakeAudio& t) { return t.id == p.take; });
    if (take == takes.end()) continue;
    const auto position = log_position(tone.behaviour, p, *take);
    if (!position) continue;
    const auto view = static_cast<std::size_t>(take - takes.begin()) * kPiecesATake +
                      static_cast<std::size_t>(p.time_s / kPieceSeconds);
    pieces[view].push_back({*position, p.sigma_hz / p.frequency_hz, p.level_db});
  }
  std::vector<LineSight> sights;
  for (const auto& [view, readings] : pieces) sights.push_back(condensed(view, readings));
  return sights;
}

}  // namespace

std::optional<FamilyLine> line_of(const ToneResult& tone, const std::vector<TakeAudio>& takes) {
  FamilyLine line;
  line.sights = sights_of(tone, takes);
  if (line.sights.empty()) return std::nullopt;
  std::vector<double> positions;
  for (const LineSight& s : line.sights) positions.push_back(s.log_position);
  const auto count = static_cast<double>(positions.size());
  line.position = std::exp(mean(positions));
  line.sigma = line.position *
               std::max(kLeastReadingSigma, standard_deviation(positions) / std::sqrt(count));
  if (tone.order && tone.order_ci95) {
    line.position = *tone.order;
    line.sigma = tone.order_ci95->width() / 3.92;  // 95 % of a normal distribution
  }
  line.level_db = tone.typical_level_db;
  line.level_sigma_db = kLevelSigmaDb;
  return line;
}

std::optional<FamilyLine> line_in(const ToneResult& tone, const std::string& take) {
  const auto p = std::find_if(tone.track.begin(), tone.track.end(),
                              [&](const TrackPoint& point) { return point.take == take; });
  if (p == tone.track.end()) return std::nullopt;
  return FamilyLine{p->frequency_hz,
                    std::hypot(p->sigma_hz, kLeastReadingSigma * p->frequency_hz),
                    p->level_db,
                    kLevelSigmaDb,
                    {}};
}

}  // namespace howl
