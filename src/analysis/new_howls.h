#pragma once

#include <string>
#include <vector>

#include "src/analysis/comparison.h"
#include "src/analysis/tone_match.h"

namespace howl {

/// Found after as more than the engine's firing, prominent, and proven to be new.
bool is_new_howl(const ComparedTone& tone);

/// The same, but not proven to be new; before, no more than the engine's firing was found there.
bool perhaps_new(const ComparedTone& tone);

/// Sets `multiple` of new tones, which lie in the order of `matched`. Their base is new too, or
/// perhaps, or has become louder: a line of the engine's firing hides what lies beneath it, so that
/// its multiple may be proven to be new where it is not.
void mark_multiples(std::vector<ComparedTone>& tones, const std::vector<MatchedTone>& matched);

/// "loudest at oil pan", of a tone heard after: where it is within 3 dB of its loudest (common
/// practice: less is no difference), at the speed and load at which most points were compared.
/// Empty where it was measured nowhere.
std::string loudest_words(const Comparison& comparison, const ComparedTone& tone);

/// Whether a new howl is a multiple of the tone.
bool is_base_of_new(const Comparison& comparison, const ComparedTone& tone);

/// What is new, as a sentence with a blank behind it; empty where nothing is. A howl is told by its
/// base, also by one that was heard after only and is not proven to be new by itself.
std::string new_words(const Comparison& comparison);

}  // namespace howl
