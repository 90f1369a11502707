#include "dsp/family_fit.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

namespace {

struct MeasuredValue {
  double value;
  double sigma;
};

Estimate weighted_mean(const std::vector<MeasuredValue>& readings) {
  double weights = 0.0;
  double sum = 0.0;
  for (const MeasuredValue& r : readings) {
    weights += 1.0 / (r.sigma * r.sigma);
    sum += r.value / (r.sigma * r.sigma);
  }
  const double value = sum / weights;
  double chi_square = 0.0;
  for (const MeasuredValue& r : readings)
    chi_square += (r.value - value) * (r.value - value) / (r.sigma * r.sigma);
  const double degrees = std::max(1.0, static_cast<double>(readings.size()) - 1.0);
  const double reach = kNormal95 * std::sqrt(std::max(1.0, chi_square / degrees) / weights);
  return {value, {value - reach, value + reach}};
}

std::optional<std::size_t> member_at(const LineFamily& family, int multiple, int sideband) {
  for (const FamilyMember& m : family.members)
    if (m.multiple == multiple && m.sideband == sideband) return m.line;
  return std::nullopt;
}

/// Distance between two lines, by what they have in common.
MeasuredValue distance(const FamilyLine& from, const FamilyLine& to) {
  const LineRelation r = relate(from, to);
  return {from.position * std::expm1(r.log_ratio), from.position * std::exp(r.log_ratio) * r.sigma};
}

/// Turns sidebands of the strongest line into those of the gap beside it.
void move_to_gap(LineFamily& family, std::span<const FamilyLine> lines) {
  std::vector<FamilyMember>& all = family.members;
  if (family.harmonic() || all.size() < 3) return;
  const auto second = std::max_element(all.begin() + 1, all.end(),
                                       [&](const FamilyMember& a, const FamilyMember& b) {
                                         return lines[a.line].level_db < lines[b.line].level_db;
                                       });
  const int apart = second->sideband;
  const bool gap = std::none_of(all.begin(), all.end(),
                                [&](const FamilyMember& m) { return 2 * m.sideband == apart; });
  if (std::abs(apart) != 2 || !gap) return;
  for (FamilyMember& m : all) m.sideband -= apart / 2;
}

Estimate spacing_of(const LineFamily& family, std::span<const FamilyLine> lines) {
  const FamilyMember& first = family.members.front();
  std::vector<MeasuredValue> readings;
  for (const FamilyMember& m : family.members) {
    // Without a carrier, from sideband to sideband.
    const bool suppressed = family.carrier_suppressed();
    const auto from = suppressed ? first.line : member_at(family, m.multiple, 0);
    const int steps = suppressed ? m.sideband - first.sideband : m.sideband;
    if (steps == 0 || !from) continue;
    const MeasuredValue d = distance(lines[*from], lines[m.line]);
    readings.push_back({d.value / steps, d.sigma / std::abs(steps)});
  }
  return weighted_mean(readings);
}

Estimate base_of(const LineFamily& family, std::span<const FamilyLine> lines) {
  std::vector<MeasuredValue> readings;
  for (const FamilyMember& m : family.members) {
    const FamilyLine& line = lines[m.line];
    if (family.carrier_suppressed())
      readings.push_back({line.position - m.sideband * family.spacing->value, line.sigma});
    else if (m.sideband == 0)
      readings.push_back({line.position / m.multiple, line.sigma / m.multiple});
  }
  return weighted_mean(readings);
}

std::optional<Modulation> modulation_of(const LineFamily& family, const FamilyMember& carrier,
                                        std::span<const FamilyLine> lines) {
  const auto lower = member_at(family, carrier.multiple, -1);
  const auto upper = member_at(family, carrier.multiple, 1);
  if (!lower || !upper) return std::nullopt;
  const LineRelation below = relate(lines[carrier.line], lines[*lower]);
  const LineRelation above = relate(lines[carrier.line], lines[*upper]);
  const double a = std::pow(10.0, below.level_difference_db / 20.0);
  const double b = std::pow(10.0, above.level_difference_db / 20.0);
  // The carrier's own error is in both differences: they are taken to err together.
  const double sigma_db = (a * below.level_sigma_db + b * above.level_sigma_db) / (a + b);
  const double factor = std::pow(10.0, kNormal95 * sigma_db / 20.0);
  return Modulation{carrier.line,
                    a + b,
                    {(a + b) / factor, (a + b) * factor},
                    above.level_difference_db - below.level_difference_db};
}

std::vector<Modulation> modulations_of(const LineFamily& family,
                                       std::span<const FamilyLine> lines) {
  std::vector<Modulation> all;
  for (const FamilyMember& m : family.members)
    if (m.sideband == 0)
      if (const auto modulation = modulation_of(family, m, lines)) all.push_back(*modulation);
  std::stable_sort(all.begin(), all.end(), [&](const Modulation& a, const Modulation& b) {
    return lines[a.carrier].level_db > lines[b.carrier].level_db;
  });
  return all;
}

}  // namespace

void describe_family(LineFamily& family, std::span<const FamilyLine> lines) {
  if (family.spacing) {
    move_to_gap(family, lines);
    family.spacing = spacing_of(family, lines);
    family.modulations = modulations_of(family, lines);
  }
  family.base = base_of(family, lines);
  std::sort(family.members.begin() + 1, family.members.end(),
            [&](const FamilyMember& a, const FamilyMember& b) {
              return lines[a.line].position < lines[b.line].position;
            });
}

}  // namespace howl
