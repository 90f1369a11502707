#include "ui/state/about_tone.h"

#include <fmt/format.h>

#include "src/analysis/suspect_band.h"
#include "src/report/number_text.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

std::string order_or_pitch(const ToneResult& tone) {
  if (tone.order) return fmt::format("order {:.2f}", *tone.order);
  return span_text(tone.frequency_hz, 0) + " Hz";
}

}  // namespace

const ToneResult* tone_in_question(const DeskState& state) {
  const Analysis* const analysis = state.analysis();
  if (analysis == nullptr || !analysis->suspect_band) return nullptr;
  return tone_in_band(analysis->tones, analysis->suspect_band->band);
}

const ToneResult* tone_picked_elsewhere(const DeskState& state) {
  const ToneResult* const about = tone_in_question(state);
  const auto& picked = state.view.selection.tone;
  if (about == nullptr || !picked || *picked == about->id) return nullptr;
  return find_tone(*state.analysis(), *picked);
}

std::string about_words(const DeskState& state) {
  const ToneResult* const picked = tone_picked_elsewhere(state);
  if (picked == nullptr) return {};
  const ToneResult& about = *tone_in_question(state);
  return fmt::format("About {} ({}); picked: {}, {}", order_or_pitch(about), about.id, picked->id,
                     order_or_pitch(*picked));
}

}  // namespace howl::desk
