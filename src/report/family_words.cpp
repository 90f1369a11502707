#include "src/report/family_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "src/analysis/families.h"
#include "src/report/number_text.h"

namespace howl {

namespace {

constexpr double kUnevenDb = 3.0;  // sidebands that differ by less pass for alike

/// "2x, 3x", without the head's own.
std::string other_harmonics(const FamilyResult& family, const std::string& head) {
  std::vector<std::string> others;
  for (const FamilyResult::Member& m : family.members)
    if (m.sideband == 0 && m.tone != head) others.push_back(fmt::format("{}x", m.harmonic));
  return fmt::format("{}", fmt::join(others, ", "));
}

std::string amount(double value, FamilyResult::Unit unit) {
  if (unit == FamilyResult::Unit::order)
    return fmt::format("{} order{}", fixed_text(value, 2),
                       std::abs(value - 1.0) < 0.005 ? "" : "s");
  if (unit == FamilyResult::Unit::hertz) return fixed_text(value, 1) + " Hz";
  return fixed_text(value, 3) + " per metre";
}

/// A level that only swells and sinks has a depth of 100 % at most; stronger sidebands have another
/// cause, such as a pitch that wavers, and are told by their size.
std::string strength_words(double depth, const Interval& ci95) {
  if (depth > 1.0)
    return fmt::format(", each {} times as strong as the tone, more than its swelling would make",
                       fixed_text(0.5 * depth, 1));
  const std::string low = fixed_text(100.0 * ci95.low, 0);
  return fmt::format(", depth {} % ({})", fixed_text(100.0 * depth, 0),
                     ci95.high > 1.0 ? low + " % or more"
                                     : span_text({100.0 * ci95.low, 100.0 * ci95.high}, 0) + " %");
}

std::string depth_words(const FamilyResult& family) {
  if (!family.modulation_depth || !family.modulation_depth_ci95) return {};
  std::string text = strength_words(*family.modulation_depth, *family.modulation_depth_ci95);
  const double uneven = family.sideband_asymmetry_db.value_or(0.0);
  if (std::abs(uneven) >= kUnevenDb)
    text += fmt::format(", the {} stronger by {} dB", uneven > 0.0 ? "upper" : "lower",
                        fixed_text(std::abs(uneven), 0));
  return text;
}

/// "±", or the one side on which there are any.
std::string_view sides(const FamilyResult& family) {
  const auto on = [&](int sign) {
    return std::ranges::any_of(
        family.members, [&](const FamilyResult::Member& m) { return m.sideband * sign > 0; });
  };
  if (on(1) && on(-1)) return "±";
  return on(1) ? "+" : "-";
}

std::string sideband_words(const FamilyResult& family) {
  if (!family.spacing) return {};
  return fmt::format("sidebands at {}{}{}", sides(family), amount(*family.spacing, family.unit),
                     depth_words(family));
}

}  // namespace

const ToneResult* head_of(const FamilyResult& family, const Analysis& analysis) {
  const ToneResult* first = nullptr;
  for (const ToneResult& tone : analysis.tones) {
    const FamilyResult::Member* part = member_of(family, tone);
    if (part == nullptr) continue;
    if (part->sideband == 0) return &tone;
    if (first == nullptr) first = &tone;
  }
  return first;
}

bool told_with_family(const ToneResult& tone, const Analysis& analysis) {
  const auto family = std::ranges::find_if(
      analysis.families, [&](const FamilyResult& f) { return member_of(f, tone) != nullptr; });
  return family != analysis.families.end() && head_of(*family, analysis) != &tone;
}

std::string family_words(const FamilyResult& family, const Analysis& analysis) {
  const ToneResult* head = head_of(family, analysis);
  if (head == nullptr) return {};
  const std::string in_take = family.take ? fmt::format(" (in {})", *family.take) : "";
  const std::string sidebands = sideband_words(family);
  if (!family.carrier_heard)
    return fmt::format("{} and others: {} around {}, where nothing is heard{}", head->id, sidebands,
                       amount(family.base, family.unit), in_take);
  std::string text = head->id;
  const FamilyResult::Member* part = member_of(family, *head);
  if (part->harmonic > 1)
    text += fmt::format(", which is {}x a base of {},", part->harmonic,
                        amount(family.base, family.unit));
  const std::string harmonics = other_harmonics(family, head->id);
  if (!harmonics.empty()) text += " with " + harmonics;
  if (!sidebands.empty()) text += (harmonics.empty() ? " with " : "; ") + sidebands;
  return text + in_take;
}

}  // namespace howl
