#include "src/analysis/new_howls.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "src/analysis/change_verdict.h"
#include "src/analysis/pitch_ratio.h"

namespace howl {

namespace {

constexpr double kNoDifferenceDb = 3.0;

/// How much speaks for a tone to be a new one's base: less is more; none: nothing.
std::optional<int> rank_as_base(const ComparedTone& tone) {
  if (is_new_howl(tone)) return 0;
  if (tone.change == ToneChange::appeared) return 1;
  if (perhaps_new(tone)) return 2;
  return tone.change == ToneChange::louder ? std::optional(3) : std::nullopt;
}

const ComparedTone* base_of(const Comparison& comparison, const ComparedTone& tone) {
  if (!tone.multiple) return nullptr;
  const auto base = std::find_if(
      comparison.tones.begin(), comparison.tones.end(),
      [&](const ComparedTone& t) { return t.id_after == tone.multiple->base_id_after; });
  return base == comparison.tones.end() ? nullptr : &*base;
}

/// A multiple of a multiple is one of the lowest base. Bases lie lower, so that this ends.
void lead_to_lowest(ComparedTone& tone, const std::vector<ComparedTone>& tones) {
  while (tone.multiple) {
    const auto base = std::find_if(tones.begin(), tones.end(), [&](const ComparedTone& t) {
      return t.id_after == tone.multiple->base_id_after;
    });
    if (base == tones.end() || !base->multiple) return;
    tone.multiple =
        MultipleOf{tone.multiple->number * base->multiple->number, base->multiple->base_id_after};
  }
}

/// Levels after by point, at the condition at which most points were compared.
std::map<std::string, double> levels_after(const Comparison& comparison, const ComparedTone& tone) {
  std::map<std::string, std::map<std::string, double>> at;  // by condition
  for (const ToneAtPlace& here : tone.at) {
    const ComparedPlace& place = comparison.places[here.place];
    if (place.trusted && here.measured.after_db)
      at[place.condition][place.point] = *here.measured.after_db;
  }
  const auto most = std::max_element(at.begin(), at.end(), [](const auto& a, const auto& b) {
    return a.second.size() < b.second.size();
  });
  return most == at.end() ? std::map<std::string, double>{} : most->second;
}

/// "27.26", "40.89": the new howls that are multiples of a tone.
std::vector<std::string> multiples_of(const Comparison& comparison, const ComparedTone& base) {
  std::vector<std::string> orders;
  for (const ComparedTone& tone : comparison.tones)
    if (is_new_howl(tone) && base_of(comparison, tone) == &base)
      orders.push_back(tone.order ? fmt::format("{:.2f}", *tone.order) : tone_words(tone));
  return orders;
}

std::string multiples_words(const std::vector<std::string>& orders) {
  if (orders.empty()) return {};
  return fmt::format(" with its {} {}", orders.size() == 1 ? "multiple" : "multiples",
                     fmt::join(orders, ", "));
}

std::string where_words(const Comparison& comparison, const ComparedTone& tone) {
  const std::string where = loudest_words(comparison, tone);
  return where.empty() ? where : ", " + where;
}

/// Of a base that is not proven to be a new howl, what speaks for it.
std::string base_words(const ComparedTone& base) {
  if (base.combustion)
    return fmt::format("the engine's own {}, which is louder too", tone_words(base));
  if (base.change == ToneChange::appeared) return tone_words(base) + ", which is new too";
  return tone_words(base) + ", which is louder too";
}

/// "order 13.63 with its multiple 27.25, loudest at the pump"
std::string howl_with_multiples(const Comparison& comparison, const ComparedTone& tone) {
  std::string text = tone_words(tone);
  if (tone.firing_order_before)
    text += fmt::format(" (before, only the engine's own order {:.2f} was found there)",
                        *tone.firing_order_before);
  text += multiples_words(multiples_of(comparison, tone)) + where_words(comparison, tone);
  if (const ComparedTone* base = base_of(comparison, tone))
    text += fmt::format(", which may be {} times {}", tone.multiple->number, base_words(*base));
  return text;
}

/// A howl whose base was heard after only and is not proven to be new, but `multiple` is.
std::string howl_by_its_base(const Comparison& comparison, const ComparedTone& base,
                             const ComparedTone& multiple) {
  const std::vector<std::string> orders = multiples_of(comparison, base);
  return fmt::format(
      "most likely {}{}{}; only the {} proven to be new{}", tone_words(base),
      multiples_words(orders), where_words(comparison, multiple),
      orders.size() == 1 ? "multiple is" : "multiples are",
      base.firing_order_before
          ? fmt::format(", because the engine's own order {:.2f} hides what else lies there",
                        *base.firing_order_before)
          : "");
}

}  // namespace

bool is_new_howl(const ComparedTone& tone) {
  return tone.change == ToneChange::appeared && tone.prominent_after && !tone.combustion &&
         tone.remark.empty();
}

bool perhaps_new(const ComparedTone& tone) {
  const bool open = tone.change == ToneChange::undetermined || tone.change == ToneChange::louder;
  return open && tone.found_after && !tone.found_before && tone.prominent_after &&
         tone.remark.empty();
}

void mark_multiples(std::vector<ComparedTone>& tones, const std::vector<MatchedTone>& matched) {
  for (std::size_t t = 0; t < tones.size(); ++t) {
    const ToneResult* tone = matched[t].tone_after();
    if (tones[t].change != ToneChange::appeared || tone == nullptr) continue;
    std::optional<std::pair<int, int>> best;  // rank, and the lowest base first
    for (std::size_t b = 0; b < tones.size(); ++b) {
      const ToneResult* base = matched[b].tone_after();
      const auto rank = rank_as_base(tones[b]);
      if (base == nullptr || !rank) continue;
      const auto number = multiple_of(*tone, *base);
      if (!number || (best && *best <= std::pair(*rank, -*number))) continue;
      best = {*rank, -*number};
      tones[t].multiple = MultipleOf{*number, base->id};
    }
  }
  for (ComparedTone& tone : tones) lead_to_lowest(tone, tones);
}

std::string loudest_words(const Comparison& comparison, const ComparedTone& tone) {
  const std::map<std::string, double> levels = levels_after(comparison, tone);
  if (levels.empty()) return {};
  if (levels.size() == 1) return "heard at " + levels.begin()->first;
  std::vector<std::pair<double, std::string>> loudest;
  double top = levels.begin()->second;
  for (const auto& [point, level] : levels) top = std::max(top, level);
  for (const auto& [point, level] : levels)
    if (level > top - kNoDifferenceDb) loudest.emplace_back(-level, point);
  if (loudest.size() == levels.size())
    return fmt::format("about as loud at all {} points", levels.size());
  std::sort(loudest.begin(), loudest.end());
  std::string text = "loudest at " + loudest.front().second;
  for (std::size_t i = 1; i < loudest.size(); ++i)
    text += (i + 1 == loudest.size() ? " and " : ", ") + loudest[i].second;
  return text;
}

bool is_base_of_new(const Comparison& comparison, const ComparedTone& tone) {
  return !multiples_of(comparison, tone).empty();
}

std::string new_words(const Comparison& comparison) {
  std::vector<std::string> names;
  std::set<const ComparedTone*> told;
  for (const ComparedTone& tone : comparison.tones) {
    if (!is_new_howl(tone)) continue;
    const ComparedTone* base = base_of(comparison, tone);
    if (base && is_new_howl(*base)) continue;  // told there
    if (!base || !perhaps_new(*base))
      names.push_back(howl_with_multiples(comparison, tone));
    else if (told.insert(base).second)
      names.push_back(howl_by_its_base(comparison, *base, tone));
  }
  if (names.empty()) return {};
  return fmt::format("New since the case before, and prominent: {}. ", fmt::join(names, "; "));
}

}  // namespace howl
