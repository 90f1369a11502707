#include "dsp/speed_from_sound.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <utility>

#include "dsp/engine_lines.h"
#include "dsp/order_map.h"
#include "dsp/speed_path.h"
#include "dsp/speed_votes.h"
#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kSection = 300.0;  // s
constexpr double kShortest = 2.0;   // s
constexpr double kFewestTurns = 24.0;
constexpr std::size_t kCourses = 3;
constexpr double kNearReach = 0.13;  // ln n
/// What was written down counts at most so much more than any other speed, so that it settles what
/// the sound leaves open, and cannot outvote an engine that is heard.
constexpr double kWrittenOdds = 20.0;

/// The lines of one take share causes that the model does not know, so that its evidence is not
/// taken at its full value. Set so that stated probabilities hold in trials of random scenes.
constexpr double kEvidenceTrust = 0.5;
/// The same of the votes along a course, which share far more.
constexpr double kVoteTrust = 0.03;
constexpr double kMostForVotes = 4.0;
/// Chance that a course which may have leapt did not; so it was in half of random sweeps.
constexpr double kDidNotLeap = 0.5;
/// A speed that agrees with what was written down, in ln n.
constexpr double kAsWritten = 0.015;
/// Speeds closer than this, in ln n, are one hypothesis.
constexpr double kSameSpeed = 0.01;

struct EngineKind {
  int cylinders;
  double prior;
};

/// How common engines are; common practice.
constexpr std::array<EngineKind, 5> kKinds{{{3, 0.15}, {4, 0.5}, {5, 0.05}, {6, 0.17}, {8, 0.13}}};

std::vector<EngineKind> kinds_of(std::optional<int> cylinders) {
  if (cylinders) return {{*cylinders, 1.0}};
  return {kKinds.begin(), kKinds.end()};
}

/// Ratios between speeds that share many orders.
std::vector<double> ratios(bool cylinders_known) {
  std::vector<double> all{1.0, 0.5,  2.0,       1.0 / 3.0, 3.0, 2.0 / 3.0,
                          1.5, 0.75, 4.0 / 3.0, 0.25,      4.0};
  if (cylinders_known) return all;
  for (const EngineKind& a : kKinds)
    for (const EngineKind& b : kKinds) {
      const double ratio = static_cast<double>(a.cylinders) / b.cylinders;
      const bool there =
          std::any_of(all.begin(), all.end(), [&](double r) { return std::abs(r - ratio) < 1e-6; });
      if (!there) all.push_back(ratio);
    }
  return all;
}

using Track = std::vector<HeardSpeed>;

/// One reading of a section: a course, its true ratio, an engine.
struct SectionReading {
  double log_weight{};
  std::shared_ptr<const Track> track;
  double mean_log{};    ///< mean of ln n
  double mean_sigma{};  ///< of it
  int cylinders{};
  int firing_seen{};
  int firing_possible{};
  double votes{};  ///< sum along its course
  bool may_have_leapt{};
};

double mean_log_of(const std::vector<HeardSpeed>& track) {
  double sum = 0.0;
  for (const HeardSpeed& h : track) sum += std::log(h.speed.value);
  return sum / static_cast<double>(track.size());
}

double mean_log_ratio(const std::vector<HeardSpeed>& track, const SpeedCurve& speed) {
  double sum = 0.0;
  for (const HeardSpeed& h : track) sum += std::log(h.speed / speed.at(h.time));
  return sum / static_cast<double>(track.size());
}

/// Chance of a speed before listening, of the stretch within which evidence was averaged.
double log_prior(const std::vector<HeardSpeed>& track, const SpeedFromSoundParameters& parameters) {
  constexpr double stretch = 0.012;
  // Workshop tests run from idle to 3500 rpm, mostly: common practice.
  constexpr double usual_rpm = 1700.0;
  constexpr double spread = 0.7;
  const double from_usual = (mean_log_of(track) - std::log(usual_rpm)) / spread;
  const double wide = std::exp(-0.5 * from_usual * from_usual) / (spread * 2.5066);
  if (!parameters.near) return std::log(stretch * wide);
  const double away = mean_log_ratio(track, parameters.near->speed) / parameters.near->sigma;
  return std::log(stretch * wide * (1.0 + (kWrittenOdds - 1.0) * std::exp(-0.5 * away * away)));
}

/// Sound of a section at kVoteRate, and where it begins.
struct Section {
  double start{};
  std::vector<float> sound;
};

class SectionReader {
 public:
  SectionReader(const SpeedFromSoundParameters& parameters) : parameters_(parameters) {}

  std::vector<SectionReading> read(const Section& section) {
    std::vector<SectionReading> readings;
    if (parameters_.near) {
      read_courses(section, near_grid(section), true, readings);
      if (settled(readings)) return readings;
    }
    read_courses(section, SpeedGrid::over(parameters_.rpm), false, readings);
    prefer_followed(readings);
    return readings;
  }

  bool any_long_enough() const { return long_enough_; }

 private:
  /// Whether what was written down explains the sound beyond doubt, so that nothing else need be
  /// searched.
  bool settled(const std::vector<SectionReading>& readings) const {
    constexpr double beyond_doubt = 7.0;
    return std::any_of(readings.begin(), readings.end(), [&](const SectionReading& r) {
      return r.log_weight > beyond_doubt && std::abs(away_from_near(*r.track)) < kAsWritten;
    });
  }

  double away_from_near(const std::vector<HeardSpeed>& track) const {
    return mean_log_ratio(track, parameters_.near->speed);
  }

  /// A course that lost the engine on its way has fewer votes than one that kept to it.
  static void prefer_followed(std::vector<SectionReading>& readings) {
    double most = 0.0;
    for (const SectionReading& r : readings) most = std::max(most, r.votes);
    for (SectionReading& r : readings)
      r.log_weight -= std::min(kMostForVotes, kVoteTrust * (most - r.votes));
  }

  /// Empty where what was written down lies beyond what is searched.
  SpeedGrid near_grid(const Section& section) const {
    const double end = section.start + static_cast<double>(section.sound.size()) / kVoteRate;
    const SpeedCurve::Range range =
        parameters_.near->speed.range(Seconds(section.start), Seconds(end));
    return SpeedGrid::over(
        {std::max(parameters_.rpm.low, range.low.value * std::exp(-kNearReach)),
         std::min(parameters_.rpm.high, range.high.value * std::exp(kNearReach))});
  }

  SpeedCorridor near_corridor(const Section& section, const SpeedVotes& votes) const {
    SpeedCorridor corridor;
    for (std::size_t m = 0; m < votes.moments; ++m) {
      const double n = parameters_.near->speed.at(Seconds(section.start + votes.time(m))).value;
      corridor.places.push_back({votes.grid.place(n * std::exp(-kNearReach)),
                                 votes.grid.place(n * std::exp(kNearReach))});
    }
    return corridor;
  }

  void read_courses(const Section& section, const SpeedGrid& grid, bool near,
                    std::vector<SectionReading>& readings) {
    if (grid.count < 2) return;
    const SpeedVotes votes = count_speed_votes(section.sound, grid, parameters_.cylinders);
    if (votes.moments == 0) return;
    std::vector<SpeedCorridor> blocked;
    if (near) {
      const SpeedCorridor within = near_corridor(section, votes);
      read_course(section, votes, best_path(votes, {}, &within), true, readings);
      return;
    }
    for (std::size_t c = 0; c < kCourses; ++c) {
      const SpeedPath path = best_path(votes, blocked, nullptr);
      read_course(section, votes, path, false, readings);
      blocked.push_back(around(path, 0.04 / grid.log_step));
    }
  }

  void read_course(const Section& section, const SpeedVotes& votes, const SpeedPath& rough,
                   bool near, std::vector<SectionReading>& readings) {
    const SpeedPath path = refine_path(votes, rough);
    std::vector<SpeedPoint> points;
    for (std::size_t m = 0; m < votes.moments; ++m)
      points.push_back({Seconds(votes.time(m)), Rpm(votes.grid.rpm(path.places[m]))});
    const SpeedCurve curve = SpeedCurve::through(points, 0.001);
    const Seconds length(static_cast<double>(section.sound.size()) / kVoteRate);
    const double turns = curve.revolutions_at(length) - curve.revolutions_at(Seconds(0.0));
    if (turns < kFewestTurns) return;
    long_enough_ = true;
    OrderMapParameters map;
    const double fastest = curve.range(Seconds(0.0), length).high.value;
    map.highest_order = std::min(80.0, 60.0 * kHighestVoteHz / fastest);
    map.revolutions = std::clamp(std::floor(turns / 4.0), 6.0, 32.0);
    map.hop_revolutions = map.revolutions / 4.0;
    const OrderLines lines = order_lines(order_spectrum(section.sound, kVoteRate, curve, map),
                                         6.0 / map.revolutions, map.highest_order);
    const std::size_t before = readings.size();
    for (const double ratio : ratios(parameters_.cylinders.has_value()))
      for (const EngineKind& kind : kinds_of(parameters_.cylinders))
        add_reading(section, votes, path, lines, ratio, kind, readings);
    const double along = votes_along(votes, rough);
    const bool leapt = !near && may_have_leapt(votes, rough);
    for (std::size_t i = before; i < readings.size(); ++i) {
      readings[i].votes = along;
      readings[i].may_have_leapt = leapt;
    }
  }

  static double votes_along(const SpeedVotes& votes, const SpeedPath& path) {
    double sum = 0.0;
    for (std::size_t m = 0; m < votes.moments; ++m)
      sum += votes.vote(m, static_cast<std::size_t>(path.places[m]));
    return sum;
  }

  void add_reading(const Section& section, const SpeedVotes& votes, const SpeedPath& path,
                   const OrderLines& lines, double ratio, const EngineKind& kind,
                   std::vector<SectionReading>& readings) const {
    const EngineFit fit = fit_engine(lines, ratio, kind.cylinders);
    const double scale = ratio * fit.scale;
    Track track;
    for (std::size_t m = 0; m < votes.moments; ++m) {
      const double rpm = scale * votes.grid.rpm(path.places[m]);
      track.push_back({Seconds(section.start + votes.time(m)), Rpm(rpm),
                       rpm * votes.grid.log_step * path.sigma[m]});
    }
    SectionReading reading;
    reading.mean_log = mean_log_of(track);
    if (!parameters_.rpm.contains(std::exp(reading.mean_log))) return;
    reading.mean_sigma = fit.scale_sigma;
    reading.cylinders = kind.cylinders;
    reading.firing_seen = fit.firing_seen;
    reading.firing_possible = fit.firing_possible;
    reading.log_weight =
        kEvidenceTrust * fit.log_evidence + std::log(kind.prior) + log_prior(track, parameters_);
    reading.track = std::make_shared<const Track>(std::move(track));
    readings.push_back(std::move(reading));
  }

  const SpeedFromSoundParameters& parameters_;
  bool long_enough_{};
};

/// Readings of one section after another that join. Chains share the tracks of what they have in
/// common, so that a long take costs little.
struct Chain {
  double log_weight{};
  std::vector<std::shared_ptr<const Track>> tracks;
  double log_sum{};  ///< Σ moments · mean ln n
  double variance_sum{};
  int cylinders{};
  int firing_seen{};
  int firing_possible{};
  bool may_have_leapt{};
};

Chain begin_chain(const SectionReading& r) {
  const auto n = static_cast<double>(r.track->size());
  return {r.log_weight, {r.track},     n * r.mean_log,    n * r.mean_sigma * n * r.mean_sigma,
          r.cylinders,  r.firing_seen, r.firing_possible, r.may_have_leapt};
}

double joint(const Chain& chain, const SectionReading& r) {
  constexpr double torn = -20.0;
  const double jump = std::log(r.track->front().speed / chain.tracks.back()->back().speed);
  const bool joins = std::abs(jump) < 0.06 && chain.cylinders == r.cylinders;
  return chain.log_weight + r.log_weight + (joins ? 0.0 : torn);
}

std::vector<Chain> lengthen(const std::vector<Chain>& chains,
                            const std::vector<SectionReading>& next) {
  if (chains.empty()) {
    std::vector<Chain> begun;
    for (const SectionReading& r : next) begun.push_back(begin_chain(r));
    return begun;
  }
  if (next.empty()) return chains;
  std::vector<Chain> longer;
  for (const SectionReading& r : next) {
    const auto best =
        std::max_element(chains.begin(), chains.end(),
                         [&](const Chain& a, const Chain& b) { return joint(a, r) < joint(b, r); });
    Chain chain = *best;
    const Chain own = begin_chain(r);
    chain.log_weight = joint(*best, r);
    chain.tracks.push_back(r.track);
    chain.log_sum += own.log_sum;
    chain.variance_sum += own.variance_sum;
    chain.firing_seen = std::max(chain.firing_seen, r.firing_seen);
    chain.firing_possible = std::max(chain.firing_possible, r.firing_possible);
    chain.may_have_leapt = chain.may_have_leapt || r.may_have_leapt;
    longer.push_back(std::move(chain));
  }
  std::sort(longer.begin(), longer.end(),
            [](const Chain& a, const Chain& b) { return a.log_weight > b.log_weight; });
  constexpr std::size_t most = 24;
  if (longer.size() > most) longer.resize(most);
  return longer;
}

double moments_of(const Chain& chain) {
  std::size_t sum = 0;
  for (const auto& track : chain.tracks) sum += track->size();
  return static_cast<double>(sum);
}

SpeedHypothesis hypothesis_of(const Chain& chain, double probability) {
  SpeedHypothesis h;
  h.probability = probability;
  const double n = moments_of(chain);
  h.mean = Rpm(std::exp(chain.log_sum / n));
  const double sigma = std::sqrt(chain.variance_sum) / n;
  h.mean_ci95 = {h.mean.value * (1.0 - kNormal95 * sigma),
                 h.mean.value * (1.0 + kNormal95 * sigma)};
  for (const auto& track : chain.tracks)
    h.track.insert(h.track.end(), track->begin(), track->end());
  h.cylinders = chain.cylinders;
  h.firing_seen = chain.firing_seen;
  h.firing_possible = chain.firing_possible;
  return h;
}

SpeedFromSound rank(std::vector<Chain> chains) {
  SpeedFromSound result;
  std::sort(chains.begin(), chains.end(),
            [](const Chain& a, const Chain& b) { return a.log_weight > b.log_weight; });
  if (chains.empty()) return result;
  const double top = std::max(0.0, chains.front().log_weight);
  double total = std::exp(-top);  // no engine: evidence 1
  for (const Chain& c : chains) total += std::exp(c.log_weight - top);
  result.no_engine = std::exp(-top) / total;
  // What was followed all the way comes first, and bears out the same speed of a course that may
  // have leapt.
  std::stable_partition(chains.begin(), chains.end(),
                        [](const Chain& c) { return !c.may_have_leapt; });
  std::size_t followed = 0;
  for (const Chain& chain : chains) {
    const double weight = std::exp(chain.log_weight - top) / total;
    const double mean = std::exp(chain.log_sum / moments_of(chain));
    const auto same = std::find_if(result.hypotheses.begin(), result.hypotheses.end(),
                                   [&](const SpeedHypothesis& h) {
                                     return std::abs(std::log(mean / h.mean.value)) < kSameSpeed;
                                   });
    const bool borne_out = !chain.may_have_leapt || std::distance(result.hypotheses.begin(), same) <
                                                        static_cast<std::ptrdiff_t>(followed);
    const double probability = borne_out ? weight : kDidNotLeap * weight;
    result.no_engine += weight - probability;
    if (same != result.hypotheses.end())
      same->probability += probability;
    else if (probability > 0.001)
      result.hypotheses.push_back(hypothesis_of(chain, probability));
    if (!chain.may_have_leapt) followed = result.hypotheses.size();
  }
  std::stable_sort(result.hypotheses.begin(), result.hypotheses.end(),
                   [](const SpeedHypothesis& a, const SpeedHypothesis& b) {
                     return a.probability > b.probability;
                   });
  return result;
}

}  // namespace

SpeedFromSound speed_from_sound(const SampleSource& source, double sample_rate,
                                const SpeedFromSoundParameters& parameters) {
  // One revolution a second turns samples a revolution into samples a second.
  AngleResampler slower(SpeedCurve::constant(Rpm(60.0), 0.0), sample_rate, kVoteRate);
  SectionReader reader(parameters);
  std::vector<Chain> chains;
  Section section;
  const auto per_section = static_cast<std::size_t>(kSection * kVoteRate);
  const auto work = [&](std::size_t samples) {
    Section whole{section.start, {}};
    const auto end = section.sound.begin() + static_cast<std::ptrdiff_t>(samples);
    whole.sound.assign(section.sound.begin(), end);
    section.sound.erase(section.sound.begin(), end);
    section.start += static_cast<double>(samples) / kVoteRate;
    chains = lengthen(chains, reader.read(whole));
  };
  source([&](std::span<const float> chunk) {
    slower.push(chunk, section.sound);
    // A remainder too short to judge stays with the section before it.
    while (section.sound.size() > per_section + per_section / 10) work(per_section);
  });
  slower.finish(section.sound);
  if (static_cast<double>(section.sound.size()) >= kShortest * kVoteRate)
    work(section.sound.size());
  SpeedFromSound result = rank(std::move(chains));
  result.too_short = !reader.any_long_enough();
  return result;
}

}  // namespace howl
