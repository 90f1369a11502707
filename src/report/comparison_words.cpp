#include "src/report/comparison_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "src/report/gathered.h"
#include "src/report/number_text.h"

namespace howl {
namespace {

std::string noise_ratio_text(const std::optional<double>& ratio, bool prominent) {
  return ratio ? signed_text(*ratio) + (prominent ? "*" : "") : "-";
}

/// Where it stands out most on either side.
std::string ratios_text(const ComparedTone& tone) {
  std::optional<double> before;
  std::optional<double> after;
  for (const ToneAtPlace& at : tone.at) {
    if (at.tone_to_noise_before_db)
      before = std::max(before.value_or(-300.0), *at.tone_to_noise_before_db);
    if (at.tone_to_noise_after_db)
      after = std::max(after.value_or(-300.0), *at.tone_to_noise_after_db);
  }
  return noise_ratio_text(before, tone.prominent_before) + " / " +
         noise_ratio_text(after, tone.prominent_after);
}

}  // namespace

std::string compared_level_text(const std::optional<double>& level, double below) {
  return level ? fixed_text(level, 0) : "< " + fixed_text(below, 0);
}

std::string signed_text(double value, int decimals) {
  const std::string text = fixed_text(value, decimals);
  const bool is_zero = text.find_first_not_of("0.") == std::string::npos;
  return value > 0.0 && !is_zero ? "+" + text : text;
}

std::string signed_text(const std::optional<double>& value) {
  return value ? signed_text(*value) : "-";
}

std::string change_text(const std::optional<double>& change, const ChangeRange& ci) {
  if (change && ci.low_db && ci.high_db)
    return fmt::format("{} ({} … {})", signed_text(*change), signed_text(*ci.low_db),
                       signed_text(*ci.high_db));
  if (ci.high_db) return "< " + signed_text(*ci.high_db);
  if (ci.low_db) return "> " + signed_text(*ci.low_db);
  return "-";
}

std::string tone_name(const ComparedTone& tone) {
  std::string name = tone.order ? fmt::format("order {:.2f}", *tone.order)
                                : span_text(tone.frequency_hz, 0) + " Hz";
  return tone.combustion ? name + " firing" : name;
}

std::vector<std::string> tone_row(const ComparedTone& tone) {
  const std::string change(change_name(tone.change));
  if (!tone.measured) return {tone_name(tone), "-", "-", "-", "-", ratios_text(tone), change};
  const MeasuredChange& m = *tone.measured;
  return {tone_name(tone),
          compared_level_text(m.before_db, m.before_below_db),
          compared_level_text(m.after_db, m.after_below_db),
          change_text(m.change_db, m.ci95_db),
          change_text(m.relative_change_db, m.relative_ci95_db),
          ratios_text(tone),
          change};
}

std::vector<std::string> reasons_undetermined(const std::vector<const ComparedTone*>& tones) {
  Gathered gathered;
  for (const ComparedTone* tone : tones)
    if (!tone->why.empty() && (tone->prominent_before || tone->prominent_after))
      gathered.say(tone_name(*tone), tone->why);
  return gathered.texts([](const std::vector<std::string>& names) {
    return fmt::format("{}", fmt::join(names, ", "));
  });
}

}  // namespace howl
