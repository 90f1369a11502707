#include "src/report/result_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <utility>

#include "src/analysis/quality.h"
#include "src/case/load_words.h"
#include "src/report/number_text.h"

namespace howl {
namespace {

std::string without_digits(std::string text) {
  std::erase_if(text, [](char c) { return c >= '0' && c <= '9'; });
  return text;
}

}  // namespace

std::string road_text(const TakeResult& take) {
  return take.road_kmh ? span_text(*take.road_kmh, 0) + " km/h" : std::string();
}

std::string load_text(const TakeResult& take) {
  std::string text = road_text(take);
  const auto say = [&](const std::string& more) { text += (text.empty() ? "" : ", ") + more; };
  if (take.background && !take.engine_off) say("background");
  for (const std::string& loaded : load_pairs(take.load)) say(loaded);
  return text.empty() ? "-" : text;
}

std::vector<std::string> warnings_of(const TakeResult& take) {
  std::vector<std::string> all = take.warnings;
  for (std::string& text : warning_texts(take.quality)) all.push_back(std::move(text));
  return all;
}

std::string_view law_words(std::string_view law) {
  if (law == "locked") return "follows the engine at one order";
  if (law == "belt") return "follows the engine, by a belt that slips";
  if (law == "fixed") return "keeps its pitch";
  if (law == "road") return "follows the road";
  return "follows neither";
}

std::string_view short_law_words(std::string_view law) {
  if (law == "locked") return "one order";
  if (law == "belt") return "by a slipping belt";
  if (law == "fixed") return "steady pitch";
  if (law == "road") return "by the road";
  return "by none of these";
}

std::string drive_text(const ToneResult& tone) {
  return tone.behaviour == Behaviour::speed_locked ? std::string(drive_name(tone.drive)) : "-";
}

std::string behaviour_text(const ToneResult& tone) {
  const std::string behaviour(behaviour_name(tone.behaviour));
  if (tone.behaviour != Behaviour::speed_locked) return behaviour;
  return behaviour + ", drive: " + drive_text(tone);
}

std::string remark_text(const ToneResult& tone) {
  if (tone.combustion) return "firing";
  std::string said = tone.maybe_combustion ? "firing?" : "";
  if (tone.prominent) said += said.empty() ? "prominent" : ", prominent";
  const auto say = [&](const std::string& more) { said += (said.empty() ? "" : ", ") + more; };
  if (tone.family) say(*tone.family);
  if (tone.above_probe_range) say("> 2 kHz");
  return said;
}

std::string impact_order_text(const ImpactResult& impact) {
  const double reach =
      std::max(impact.order_ci95.high - impact.order, impact.order - impact.order_ci95.low);
  return fixed_text(impact.order, 2) + " ±" +
         fixed_text(std::ceil(100.0 * reach - 1e-6) / 100.0, 2);
}

std::vector<ImpactResult> impacts_worth_telling(const Analysis& analysis, std::size_t most) {
  std::vector<ImpactResult> told;
  for (const ImpactResult& impact : analysis.impacts)
    if ((impact.harmonics > 1 || impact.takes.size() > 1) && told.size() < most)
      told.push_back(impact);
  return told;
}

std::string chosen_text(const SuspectBand& suspect) {
  if (suspect.chosen_by_user) return "chosen by you";
  return suspect.why.empty() ? "chosen by the program" : "chosen by the program: " + suspect.why;
}

std::string level_interval(const RankedPoint& point) {
  if (!point.ci95_db) return "-";
  if (!std::isfinite(point.ci95_db->low)) return "below " + fixed_text(point.ci95_db->high, 1);
  return span_text(*point.ci95_db, 1);
}

bool several_measured(const Analysis& analysis) {
  return std::ranges::count_if(analysis.ranking, [](const RankedPoint& point) {
           return point.level_db.has_value();
         }) > 1;
}

std::string_view call_legend() {
  return "clear 10 dB or more, likely 6 dB or more, maybe 3 dB or more (a hand can do as much), "
         "where the interval leaves no doubt of it; no difference: less, or the takes cannot tell";
}

std::string call_words(Call call, double db) {
  constexpr double least = 3;  // dB; hand and probe alone make as much (src/analysis/ranking.h)
  switch (call) {
    case Call::clear:
      return "a clear difference";
    case Call::likely:
      return "a likely difference";
    case Call::maybe:
      return "maybe, a hand can do as much";
    case Call::no_difference:
      break;
  }
  return db < least ? "no difference, under 3 dB" : "no clear difference";
}

std::string correction_note(const Analysis& analysis) {
  std::optional<Interval> range;
  for (const TakeResult& take : analysis.takes) {
    if (!take.reference || !take.reference->correction_db) continue;
    const double own = *take.reference->correction_db;
    if (!range) range = Interval{own, own};
    range = Interval{std::min(range->low, own), std::max(range->high, own)};
  }
  if (!range) return {};
  return fmt::format(
      "levels corrected by {} dB for changes of the source, as the reference microphone heard it",
      span_text(*range, 1));
}

std::vector<Saying> sayings(const std::vector<const ToneResult*>& tones,
                            std::string ToneResult::*text_of) {
  std::vector<Saying> all;
  for (const ToneResult* tone : tones) {
    const std::string& text = tone->*text_of;
    if (text.empty()) continue;
    const auto same = std::ranges::find(all, without_digits(text), [](const Saying& saying) {
      return without_digits(saying.text);
    });
    if (same == all.end())
      all.push_back({text, {tone->id}});
    else
      same->tones.push_back(tone->id);
  }
  return all;
}

std::string saying_text(const Saying& saying) {
  const std::string text = saying.tones.front() + ": " + saying.text;
  if (saying.tones.size() == 1) return text;
  const auto others = std::span(saying.tones).subspan(1);
  return fmt::format("{}. Likewise {}", text, fmt::join(others, ", "));
}

}  // namespace howl
