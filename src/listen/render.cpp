#include "src/listen/render.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "dsp/moving_band.h"
#include "dsp/resampler.h"
#include "dsp/time_stretch.h"
#include "src/audio/recording.h"
#include "src/errors.h"

namespace howl {
namespace {

namespace fs = std::filesystem;
using To = std::function<void(std::span<const float>)>;

constexpr std::size_t kChunk = 8192;
/// Heard before the range, so that filters have settled where it begins.
constexpr double kLeadSeconds = 0.5;

/// A take as files and what is known of it.
struct Source {
  const fs::path& folder;
  const Take& take;
  std::optional<int> cylinders;

  double rate() const { return take.sample_rate; }
  std::int64_t sample_at(double seconds) const {
    return std::clamp<std::int64_t>(std::llround(seconds * rate()), 0, take.frames);
  }
};

/// Samples of a range, without any change.
void read_range(const Source& source, std::int64_t first, std::int64_t last, const To& to) {
  Recording recording(source.folder / source.take.recording);
  if (first > 0) recording.seek(first);
  std::vector<float> chunk(kChunk);
  for (std::int64_t left = last - first; left > 0;) {
    const auto want = static_cast<std::size_t>(std::min<std::int64_t>(left, kChunk));
    const std::size_t got = recording.read(source.take.channel, std::span(chunk).first(want));
    if (got == 0) return;
    to(std::span<const float>(chunk).first(got));
    left -= static_cast<std::int64_t>(got);
  }
}

/// Passes on samples `first` … `last − 1` of a stream that begins at `at`.
class OnlyRange {
 public:
  OnlyRange(std::int64_t at, std::int64_t first, std::int64_t last, const To& to)
      : at_(at), first_(first), last_(last), to_(&to) {}

  void push(std::span<const float> samples) {
    const auto count = static_cast<std::int64_t>(samples.size());
    const std::int64_t from = std::clamp<std::int64_t>(first_ - at_, 0, count);
    const std::int64_t end = std::clamp<std::int64_t>(last_ - at_, from, count);
    at_ += count;
    if (end > from)
      (*to_)(samples.subspan(static_cast<std::size_t>(from), static_cast<std::size_t>(end - from)));
  }
  bool past() const { return at_ >= last_; }

 private:
  std::int64_t at_;
  std::int64_t first_;
  std::int64_t last_;
  const To* to_;
};

/// Edges of a band in Hz along a take, from sample `begin` on, and how narrow it gets.
struct EdgesOfBand {
  MovingBand::Edges at;
  double narrowest_hz{};
};

EdgesOfBand edges_of(const Source& source, const AnalysisRequest::Band& band, double begin_s,
                     double end_s) {
  if (band.unit == AnalysisRequest::Band::Unit::hertz)
    return {[range = band.range](Seconds) { return range; }, band.range.width()};
  std::vector<std::string> warnings;
  const TakeAudio audio = open_take(source.folder, source.take, source.cylinders, warnings);
  if (audio.engine_off)
    throw Error(Fault::command, "take " + source.take.id,
                "was recorded with the engine off, and the suspect band is in orders",
                "listen to the whole take, or choose a band in Hz");
  const SpeedCurve::Range speed = audio.speed.range(Seconds(begin_s), Seconds(end_s));
  const auto at = [curve = audio.speed, range = band.range, begin_s](Seconds time) {
    const Rpm rpm = curve.at(Seconds(begin_s + time.value));
    return Interval{frequency_of(Order(range.low), rpm).value,
                    frequency_of(Order(range.high), rpm).value};
  };
  return {at, frequency_of(Order(band.range.width()), speed.low).value};
}

void read_band(const Source& source, const AnalysisRequest::Band& band, std::int64_t first,
               std::int64_t last, const To& to) {
  const auto lead = static_cast<std::int64_t>(kLeadSeconds * source.rate());
  const std::int64_t begin = std::max<std::int64_t>(0, first - lead);
  const std::int64_t end = std::min(source.take.frames, last + lead);
  const auto seconds = [&](std::int64_t sample) {
    return static_cast<double>(sample) / source.rate();
  };
  EdgesOfBand edges = edges_of(source, band, seconds(begin), seconds(end));
  OnlyRange range(begin, first, last, to);
  MovingBand passed(source.rate(), std::max(edges.narrowest_hz, 1.0), std::move(edges.at),
                    [&](std::span<const float> samples) { range.push(samples); });
  read_range(source, begin, end, [&](std::span<const float> samples) { passed.push(samples); });
  passed.finish();
}

/// Thrown once all that is wanted of a take has been followed.
struct Enough {};

void read_tone(const Source& source, const IsolateRequest& tone, bool alone, std::int64_t first,
               std::int64_t last, const To& to) {
  const TakeIsolation isolation(source.folder, source.take, source.cylinders, tone);
  OnlyRange range(0, first, last, to);
  std::vector<float> heard;
  const auto piece = [&](const IsolatedPiece& found) {
    heard.assign(found.take.begin(), found.take.end());
    for (std::size_t i = 0; i < heard.size(); ++i) {
      float tones = 0;
      for (const FilteredTone& each : found.found.tones) tones += each.waveform[i];
      heard[i] = alone ? tones : heard[i] - tones;
    }
    range.push(heard);
    if (range.past()) throw Enough{};
  };
  // Breaks off where nothing wants the sound any more, though none of it was made yet.
  const auto progress = [&](double /*fraction*/, std::string_view /*stage*/) { to({}); };
  try {
    isolation.run(piece, progress);
  } catch (const Enough&) {
    return;
  }
}

void read_heard(const Source& source, const HearingRequest& request, const To& to) {
  const std::int64_t first = source.sample_at(request.range_s.low);
  const std::int64_t last = source.sample_at(request.range_s.high);
  switch (request.heard) {
    case Heard::take:
      return read_range(source, first, last, to);
    case Heard::band:
      return request.band ? read_band(source, *request.band, first, last, to)
                          : read_range(source, first, last, to);
    case Heard::tone:
    case Heard::without:
      return read_tone(source, request.tone, request.heard == Heard::tone, first, last, to);
  }
}

void render_slower(const Source& source, const HearingRequest& request, const To& to) {
  if (request.slowness == 1) return read_heard(source, request, to);
  TimeStretch stretch(source.rate(), request.slowness, to);
  read_heard(source, request, [&](std::span<const float> samples) {
    if (samples.empty()) to({});
    stretch.push(samples);
  });
  stretch.finish();
}

}  // namespace

Interval heard_range(const Interval& range, double take_seconds, int slowness) {
  const double low =
      std::clamp(range.low, 0.0, std::max(0.0, take_seconds - kShortestHeardSeconds));
  const double longest = kLongestHeardSeconds / slowness;
  const double high = std::clamp(range.high, low + kShortestHeardSeconds, low + longest);
  return {low, std::min(high, take_seconds)};
}

std::size_t heard_samples(const HearingRequest& request) {
  return static_cast<std::size_t>(
      std::llround(request.range_s.width() * request.slowness * request.rate));
}

void render_heard(const fs::path& folder, const Take& take, std::optional<int> cylinders,
                  const HearingRequest& request, const To& to) {
  const Source source{folder, take, cylinders};
  if (request.rate == source.rate()) return render_slower(source, request, to);
  Resampler resampler(source.rate(), request.rate, to);
  render_slower(source, request, [&](std::span<const float> samples) {
    if (samples.empty()) to({});
    resampler.push(samples);
  });
  resampler.finish();
}

double heard_power(const fs::path& folder, const Take& take, std::optional<int> cylinders,
                   const Interval& range_s, const std::optional<AnalysisRequest::Band>& band) {
  double sum = 0;
  std::size_t count = 0;
  const Source source{folder, take, cylinders};
  HearingRequest request{
      .heard = band ? Heard::band : Heard::take, .range_s = range_s, .band = band, .tone = {}};
  read_heard(source, request, [&](std::span<const float> samples) {
    for (const float sample : samples)
      sum += static_cast<double>(sample) * static_cast<double>(sample);
    count += samples.size();
  });
  return count == 0 ? 0.0 : sum / static_cast<double>(count);
}

}  // namespace howl
