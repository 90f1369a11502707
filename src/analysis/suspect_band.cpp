#include "src/analysis/suspect_band.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace howl {

namespace {

constexpr double kShare = 0.03;  // of the tone's order or frequency, on either side
constexpr double kLeastOrders = 0.2;
constexpr double kLeastHertz = 8.0;

Interval around(double centre, double least, const Interval& span) {
  const double reach = std::max(least, kShare * centre);
  return {std::max(0.0, std::min(span.low, centre) - reach), std::max(span.high, centre) + reach};
}

std::string tone_words(const ToneResult& tone) {
  if (tone.behaviour == Behaviour::speed_locked)
    return fmt::format("speed-locked order {:.2f}", *tone.order);
  if (tone.frequency_hz.width() < 1.0)
    return fmt::format("{} tone at {:.0f} Hz", behaviour_name(tone.behaviour),
                       tone.frequency_hz.low);
  return fmt::format("{} tone at {:.0f} to {:.0f} Hz", behaviour_name(tone.behaviour),
                     tone.frequency_hz.low, tone.frequency_hz.high);
}

}  // namespace

std::optional<BandProposal> propose_band(const std::vector<ToneResult>& tones) {
  const auto tone = std::find_if(tones.begin(), tones.end(), [](const ToneResult& t) {
    return !t.combustion && t.remark.empty();
  });
  if (tone == tones.end()) return std::nullopt;
  BandProposal proposal;
  AnalysisRequest::Band& band = proposal.band.band;
  if (tone->behaviour == Behaviour::speed_locked) {
    band.unit = AnalysisRequest::Band::Unit::order;
    band.range = around(*tone->order, kLeastOrders, *tone->order_ci95);
  } else {
    band.unit = AnalysisRequest::Band::Unit::hertz;
    const double centre = 0.5 * (tone->frequency_hz.low + tone->frequency_hz.high);
    band.range = around(centre, kLeastHertz, tone->frequency_hz);
    if (tone->behaviour == Behaviour::undetermined) proposal.speeds = tone->rpm_span;
  }
  proposal.band.why = fmt::format("{} {} ({:.0f} dB over the noise in its critical band{})",
                                  tone->prominent ? "the most prominent howl is the"
                                                  : "nothing howls prominently; strongest is the",
                                  tone_words(*tone), tone->tone_to_noise_db,
                                  tone->prominent ? "" : ", below the ECMA-418-1 criterion");
  return proposal;
}

}  // namespace howl
