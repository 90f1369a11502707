#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

/// What tables and reports say of single results, in the same words. Unknown reads "-".

/// "60 km/h", "20 … 80 km/h"; empty where the road speed is not known
std::string road_text(const TakeResult& take);
/// "60 km/h, ac=on, gear=3"; "background" for a background take with the engine running
std::string load_text(const TakeResult& take);
/// All that a person is to know of a take, those of its quality last.
std::vector<std::string> warnings_of(const TakeResult& take);

/// What a pitch law says that a tone does, by the law's name: "keeps its pitch".
std::string_view law_words(std::string_view law);
/// The same where there is little room: "steady pitch".
std::string_view short_law_words(std::string_view law);

std::string drive_text(const ToneResult& tone);
/// "speed-locked, drive: belt"; the behaviour alone where it has no drive
std::string behaviour_text(const ToneResult& tone);
/// "firing", or "prominent, A, > 2 kHz"; empty where there is nothing to say
std::string remark_text(const ToneResult& tone);
/// "13.76 ±0.08"
std::string impact_order_text(const ImpactResult& impact);
/// The first few, but for what shows one line in one take only: that is worth a place in the JSON,
/// not on a page.
std::vector<ImpactResult> impacts_worth_telling(const Analysis& analysis, std::size_t most);
/// "chosen by you", or why the program chose it
std::string chosen_text(const SuspectBand& suspect);
/// "-34.1 … -28.2", "below -28.2" where no lower end is known
std::string level_interval(const RankedPoint& point);
/// One point alone is neither the loudest nor different from another.
bool several_measured(const Analysis& analysis);
/// What the calls of a ranking mean, with their limits; a sentence without its full stop.
std::string_view call_legend();
/// "no difference, under 3 dB", "a likely difference": of a point whose level lies `db` from
/// another's.
std::string call_words(Call call, double db);
/// By how much a reference microphone corrected the levels of the ranking; empty if by nothing.
std::string correction_note(const Analysis& analysis);

/// One thing said of several tones.
struct Saying {
  std::string text;
  std::vector<std::string> tones;
};
/// What `text_of` says of the tones; texts that differ in their numbers only count as one.
std::vector<Saying> sayings(const std::vector<const ToneResult*>& tones,
                            std::string ToneResult::*text_of);
/// "tone3: text. Likewise tone5, tone6"
std::string saying_text(const Saying& saying);

}  // namespace howl
