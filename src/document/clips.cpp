#include "src/document/clips.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <utility>

#include "dsp/decimator.h"
#include "dsp/units.h"
#include "src/analysis/isolate.h"
#include "src/audio/recording.h"
#include "src/audio/wav_bytes.h"
#include "src/errors.h"
#include "src/report/finding.h"
#include "src/report/number_text.h"

namespace howl::document {
namespace {

constexpr double longest_clip_seconds = 4.0;
constexpr double least_clip_rate = 16000.0;  ///< what lies below 5.6 kHz stays
constexpr double fade_seconds = 0.02;
constexpr float loudest_sample = 0.7F;
constexpr std::size_t clip_chunk = 1U << 14U;

/// Samples of a take, from `first` on.
struct Stretch {
  const Take* take{};
  std::int64_t first{};
  std::int64_t count{};

  double from_s() const { return static_cast<double>(first) / take->sample_rate; }
  double to_s() const { return static_cast<double>(first + count) / take->sample_rate; }
};

const TrackPoint* loudest_moment(const ToneResult& tone) {
  const auto loudest = std::ranges::max_element(tone.track, {}, &TrackPoint::level_db);
  return loudest == tone.track.end() ? nullptr : &*loudest;
}

bool is_whole_take(const ToneResult& tone, const TrackPoint& moment) {
  return std::ranges::count(tone.track, moment.take, &TrackPoint::take) == 1;
}

/// About the loudest moment of a sweep, or in the middle of a hold.
std::optional<Stretch> stretch_of(const Case& value, const ToneResult& tone) {
  const TrackPoint* const moment = loudest_moment(tone);
  if (moment == nullptr) return std::nullopt;
  const auto take = std::ranges::find(value.takes, moment->take, &Take::id);
  if (take == value.takes.end()) return std::nullopt;
  const auto count =
      std::min(take->frames, static_cast<std::int64_t>(longest_clip_seconds * take->sample_rate));
  const std::int64_t centre = is_whole_take(tone, *moment)
                                  ? take->frames / 2
                                  : static_cast<std::int64_t>(moment->time_s * take->sample_rate);
  const std::int64_t first = std::clamp<std::int64_t>(centre - count / 2, 0, take->frames - count);
  return Stretch{&*take, first, count};
}

/// Keeps of a stream of samples what lies in a stretch.
class Keeper {
 public:
  explicit Keeper(const Stretch& stretch) : stretch_(stretch) {}

  void push(std::span<const float> samples) {
    const std::int64_t end = at_ + static_cast<std::int64_t>(samples.size());
    const std::int64_t from = std::clamp(stretch_.first, at_, end);
    const std::int64_t to = std::clamp(stretch_.first + stretch_.count, at_, end);
    kept_.insert(kept_.end(), samples.begin() + (from - at_), samples.begin() + (to - at_));
    at_ = end;
  }
  std::vector<float> take_kept() { return std::move(kept_); }

 private:
  Stretch stretch_;
  std::int64_t at_{};
  std::vector<float> kept_;
};

std::vector<float> as_recorded(const std::filesystem::path& folder, const Stretch& stretch) {
  Keeper keeper(stretch);
  for_each_chunk(folder / stretch.take->recording, stretch.take->channel, clip_chunk,
                 [&](std::span<const float> chunk) { keeper.push(chunk); });
  return keeper.take_kept();
}

/// The tone's pitch in the take: the median of what the track shows there.
double pitch_in_take(const ToneResult& tone, const std::string& take) {
  std::vector<double> pitches;
  for (const TrackPoint& point : tone.track)
    if (point.take == take) pitches.push_back(point.frequency_hz);
  std::ranges::sort(pitches);
  return pitches[pitches.size() / 2];
}

IsolateRequest request_for(const ToneResult& tone, const Take& take) {
  IsolateRequest request;
  if (tone.order && !std::holds_alternative<EngineOff>(take.speed))
    request.orders = {Order(*tone.order)};
  else
    request.pitches = {Hertz(pitch_in_take(tone, take.id))};
  return request;
}

struct Isolated {
  std::string name;
  std::vector<float> samples;
};

Isolated isolated(const Material& material, const ToneResult& tone, const Stretch& stretch,
                  const Progress& progress) {
  const TakeIsolation isolation(material.folder, *stretch.take, material.value.cylinders,
                                request_for(tone, *stretch.take));
  Keeper keeper(stretch);
  isolation.run([&](const IsolatedPiece& piece) { keeper.push(piece.found.tones[0].waveform); },
                progress);
  const bool by_order = tone.order && isolation.tones().front().order.value == *tone.order;
  return {by_order ? "order " + fixed_text(tone.order, 2) : isolation.names().front(),
          keeper.take_kept()};
}

std::vector<float> at_lower_rate(std::span<const float> samples, std::size_t factor) {
  Decimator decimator(factor);
  std::vector<float> fewer;
  decimator.push(samples, fewer);
  return fewer;
}

/// Returns the gain in dB; none for silence.
std::optional<double> make_loud(std::vector<float>& samples) {
  float peak = 0.0F;
  for (const float sample : samples) peak = std::max(peak, std::abs(sample));
  if (!(peak > 1e-7F)) return std::nullopt;
  const float gain = loudest_sample / peak;
  for (float& sample : samples) sample *= gain;
  return 20.0 * std::log10(static_cast<double>(gain));
}

void fade_ends(std::vector<float>& samples, double rate) {
  const auto length = std::min(samples.size() / 2, static_cast<std::size_t>(fade_seconds * rate));
  for (std::size_t i = 0; i < length; ++i) {
    const float share = static_cast<float>(i) / static_cast<float>(length);
    samples[i] *= share;
    samples[samples.size() - 1 - i] *= share;
  }
}

std::optional<Clip> clip_of(std::vector<float> samples, const Stretch& stretch,
                            const std::string& caption) {
  const double rate = stretch.take->sample_rate;
  const auto factor = std::max<std::size_t>(1, static_cast<std::size_t>(rate / least_clip_rate));
  std::vector<float> fewer = at_lower_rate(samples, factor);
  const double lower_rate = rate / static_cast<double>(factor);
  fade_ends(fewer, lower_rate);
  const std::optional<double> gain_db = make_loud(fewer);
  if (!gain_db) return std::nullopt;
  return Clip{caption,
              fmt::format("Take {} at {}, {} to {} s, made {} dB {}; {} Hz, 16 bit.",
                          stretch.take->id, stretch.take->point, fixed_text(stretch.from_s(), 1),
                          fixed_text(stretch.to_s(), 1), fixed_text(std::abs(*gain_db), 0),
                          *gain_db < 0.0 ? "quieter" : "louder", fixed_text(lower_rate, 0)),
              wav16_bytes(fewer, static_cast<int>(std::lround(lower_rate)))};
}

}  // namespace

std::vector<Clip> clips_of(const Material& material, const Progress& progress) {
  std::vector<Clip> clips;
  const ToneResult* const howl = strongest_howl(material.analysis);
  const auto stretch = howl == nullptr ? std::nullopt : stretch_of(material.value, *howl);
  if (!stretch) return clips;
  const auto add = [&](std::optional<Clip> clip) {
    if (clip) clips.push_back(std::move(*clip));
  };
  add(clip_of(as_recorded(material.folder, *stretch), *stretch, "The howl as it was recorded"));
  try {
    Isolated alone = isolated(material, *howl, *stretch, progress);
    add(clip_of(std::move(alone.samples), *stretch, "The howl alone: " + alone.name));
  } catch (const Error& error) {
    if (error.fault() != Fault::command || clips.empty()) throw;
    clips.front().description += " The howl alone cannot be given: " + error.problem() + ".";
  }
  return clips;
}

}  // namespace howl::document
