#include "src/reasoning/which_howl.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "src/reasoning/source_likelihood.h"

namespace howl {

namespace {

/// That the fault's howl is not among those heard.
constexpr double kNotHeard = 0.05;
constexpr double kNotHeardFaint = 0.65;  ///< where nothing is prominent
constexpr double kNotHeardFiring = 0.5;  ///< where it would be a firing order

double chance_not_heard(const Howl& howl, Chosen chosen) {
  if (howl.firing) return kNotHeardFiring;
  return howl.prominent || chosen == Chosen::by_user ? kNotHeard : kNotHeardFaint;
}

/// Of the howl that is judged against another of the same strength.
constexpr double kStandsOutOdds = 12.0;
constexpr double kGivenOdds = 100.0;
constexpr double kStrongerDb = 20.0;
constexpr double kStrongerSd = 10.0;
/// ln N(d; m, s) − ln N(−d; m, s) = 2 m d / s², d: how much stronger one howl is than the other.
constexpr double kLogPerDb =
    2.0 * kStrongerDb / (kStrongerSd * kStrongerSd + 2.0 * kTransferSd * kTransferSd);

/// Each source's likelihood of a howl over the mean of all, the rest last.
std::vector<double> over_mean(const std::vector<double>& log_ratio) {
  const double top = *std::ranges::max_element(log_ratio);
  std::vector<double> ratio;
  double sum = 0.0;
  for (const double value : log_ratio) sum += ratio.emplace_back(std::exp(value - top));
  for (double& value : ratio) value *= static_cast<double>(ratio.size()) / sum;
  return ratio;
}

std::vector<double> sound_of(const Howl& howl, const std::vector<Source>& sources) {
  std::vector<double> log_ratio;
  for (const Source& source : sources) {
    double sum = 0.0;
    for (const Explained& item : explain(howl, source))
      if (item.id != "blows") sum += item.log_ratio;
    log_ratio.push_back(sum);
  }
  log_ratio.push_back(0.0);
  return log_ratio;
}

double lost_on_the_way(const Howl& howl, const Source& source) {
  if (howl.points.empty()) return source.elsewhere_db;
  const auto loudest = std::ranges::max_element(howl.points, {}, &Howl::PointLevel::loudest);
  const auto below = source.below_db.find(loudest->point);
  return below == source.below_db.end() ? source.elsewhere_db : below->second;
}

/// Level at the source, the mean over who may have made it.
double strength_db(const Howl& howl, const std::vector<double>& ratio,
                   const std::vector<Source>& sources) {
  double sum = 0.0;
  double weight = 0.0;
  for (std::size_t s = 0; s < sources.size(); ++s) {
    sum += ratio[s] * (howl.level_db + lost_on_the_way(howl, sources[s]));
    weight += ratio[s];
  }
  return weight > 0.0 ? sum / weight : howl.level_db;
}

}  // namespace

WhichHowl which_howl(const Howl& howl, Chosen chosen, const std::vector<double>& sound_log_ratio,
                     const std::vector<Howl>& others, const std::vector<Source>& sources) {
  WhichHowl result;
  const double not_heard = chance_not_heard(howl, chosen);
  std::vector<std::vector<double>> ratios{over_mean(sound_log_ratio)};
  std::vector<double> weight{chosen == Chosen::by_user ? kGivenOdds : kStandsOutOdds};
  const double own_db = strength_db(howl, ratios.front(), sources);
  for (const Howl& other : others) {
    ratios.push_back(over_mean(sound_of(other, sources)));
    weight.push_back(std::exp(kLogPerDb * (strength_db(other, ratios.back(), sources) - own_db)));
  }
  double sum = 0.0;
  for (const double w : weight) sum += w;
  result.chance = (1.0 - not_heard) * weight.front() / sum;
  for (std::size_t s = 0; s <= sources.size(); ++s) {
    double mixed = not_heard;
    for (std::size_t t = 0; t < ratios.size(); ++t)
      mixed += (1.0 - not_heard) * weight[t] / sum * ratios[t][s];
    result.log_ratio.push_back(std::log(mixed) - std::log(std::max(1e-300, ratios.front()[s])));
  }
  if (others.empty()) return result;
  const auto rival = std::max_element(weight.begin() + 1, weight.end()) - weight.begin();
  const std::vector<double>& ratio = ratios[static_cast<std::size_t>(rival)];
  const auto maker = static_cast<std::size_t>(std::ranges::max_element(ratio) - ratio.begin());
  result.rival = &others[static_cast<std::size_t>(rival) - 1];
  result.rival_source = maker < sources.size() ? sources[maker].name : "";
  return result;
}

}  // namespace howl
