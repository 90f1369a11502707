#include "src/reasoning/hypotheses.h"

namespace howl {

std::vector<Hypothesis> hypotheses_of(const Profile& profile) {
  std::vector<Hypothesis> all;
  for (std::size_t s = 0; s < profile.sources.size(); ++s) {
    const std::size_t causes = profile.sources[s].causes.size();
    if (causes == 0) all.push_back({s, std::nullopt});
    for (std::size_t c = 0; c < causes; ++c) all.push_back({s, c});
  }
  all.emplace_back();
  return all;
}

Belief prior_of(const Profile& profile, const std::vector<Hypothesis>& hypotheses) {
  double weights = 0.0;
  for (const Source& source : profile.sources) weights += source.how_often;
  Belief prior;
  for (const Hypothesis& h : hypotheses) {
    if (!h.source) {
      prior.push_back(profile.sources.empty() ? 1.0 : kChanceOfTheRest);
      continue;
    }
    const Source& source = profile.sources[*h.source];
    const double share = h.cause ? source.causes[*h.cause].share : 1.0;
    prior.push_back((1.0 - kChanceOfTheRest) * source.how_often / weights * share);
  }
  return prior;
}

Belief by_source(const std::vector<Hypothesis>& hypotheses, const Belief& belief,
                 std::size_t sources) {
  Belief sums(sources + 1, 0.0);
  for (std::size_t i = 0; i < hypotheses.size(); ++i)
    sums[hypotheses[i].source.value_or(sources)] += belief[i];
  return sums;
}

std::string cause_of(const Profile& profile, const Hypothesis& hypothesis) {
  if (!hypothesis.source || !hypothesis.cause) return {};
  return profile.sources[*hypothesis.source].causes[*hypothesis.cause].id;
}

}  // namespace howl
