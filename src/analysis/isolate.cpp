#include "src/analysis/isolate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <stdexcept>
#include <string_view>
#include <utility>

#include "dsp/muted_spans.h"
#include "src/audio/recording.h"
#include "src/errors.h"
#include "src/speed/coverage.h"

namespace howl {

namespace {

constexpr Hertz kLeastWidth{2.0};
constexpr double kLeastWidthShare = 0.02;
constexpr double kSpeedErrors = 4.0;  // two standard deviations to either side
constexpr std::size_t kEnvelopeChunk = 1U << 15U;

/// Least product of width and length: with less, the take and not the width says what is told
/// apart. Our own choice.
constexpr double kLeastWidthsInLength = 2.0;

FilterWidth usual_width(const SpeedCurve& speed) {
  return {kLeastWidth, std::max(kLeastWidthShare, kSpeedErrors * speed.relative_error())};
}

std::string range_words(Hertz low, Hertz high) {
  return high / low < 1.001 ? fmt::format("lies at {:.1f} Hz", low.value)
                            : fmt::format("runs from {:.1f} to {:.1f} Hz", low.value, high.value);
}

/// What the filter refuses, without its own name before it.
std::string plain_words(std::string_view what) {
  const auto colon = what.find(": ");
  return std::string(colon == std::string_view::npos ? what : what.substr(colon + 2));
}

Error refused(const std::string& take, const std::invalid_argument& why) {
  return {Fault::command, "take " + take, plain_words(why.what()),
          "ask for tones that lie further apart, for fewer at once, or give another --width"};
}

}  // namespace

TakeIsolation::TakeIsolation(const std::filesystem::path& folder, const Take& take,
                             std::optional<int> cylinders, const IsolateRequest& request)
    : id_(take.id), recording_(folder / take.recording), channel_(take.channel) {
  const RecordingFormat format = Recording(recording_).format();
  sample_rate_ = format.sample_rate;
  samples_ = format.frames;
  TakeAudio audio = open_take(folder, take, cylinders, warnings_);
  unknown_ = without_speed(audio);
  if (!audio.engine_off) speed_ = std::make_shared<const SpeedCurve>(std::move(audio.speed));
  follow(request);
  const FilterWidth usual =
      speed_ ? usual_width(*speed_) : FilterWidth{kLeastWidth, kLeastWidthShare};
  parameters_ = {request.width.value_or(usual), request.poles};
  require_audible();
  require_length();
  filter({});  // refuses what is left to refuse
}

void TakeIsolation::follow(const IsolateRequest& request) {
  if (!request.orders.empty() && !speed_)
    throw Error(Fault::command, "take " + id_, "was recorded with the engine off and has no orders",
                "ask for a pitch with --hertz, or choose another take");
  orders_ = request.orders.size();
  if (orders_ > 0 && !unknown_.empty())
    warnings_.push_back(
        fmt::format("no order is taken out of it from {}, where its speed is not known: the order "
                    "alone is silent there, and the rest is the take as it is",
                    places_of(unknown_)));
  for (const Order order : request.orders) {
    tones_.push_back({speed_, order});
    names_.push_back(fmt::format("order {:g}", order.value));
  }
  for (const Hertz pitch : request.pitches) {
    tones_.push_back(fixed_pitch(pitch));
    names_.push_back(fmt::format("{:g} Hz", pitch.value));
  }
}

std::optional<Rpm> TakeIsolation::speed_at(Seconds time) const {
  if (!speed_ || contains(unknown_, time.value)) return std::nullopt;
  return speed_->at(time);
}

std::optional<Hertz> TakeIsolation::frequency_at(std::size_t k, Seconds time) const {
  if (k < orders_ && contains(unknown_, time.value)) return std::nullopt;
  return tones_[k].frequency_at(time);
}

bool TakeIsolation::reaches_unknown(const FilteredPiece& found) const {
  constexpr double fade = 0.02;  // longer than that of mute_spans()
  const double from = static_cast<double>(found.first_sample) / sample_rate_;
  const double to = from + static_cast<double>(found.samples()) / sample_rate_;
  return orders_ > 0 && reaches_into(unknown_, from - fade, to + fade);
}

std::vector<FilteredTone> TakeIsolation::where_known(const FilteredPiece& found) const {
  std::vector<FilteredTone> tones(found.tones.begin(), found.tones.end());
  for (std::size_t k = 0; k < orders_; ++k) {
    mute_spans(tones[k].waveform, found.first_sample, sample_rate_, unknown_);
    for (const Interval& span : unknown_) {
      const auto at = [&](double time) {
        return tones[k].envelope.begin() +
               std::clamp<std::int64_t>(
                   static_cast<std::int64_t>(std::ceil(time * sample_rate_)) - found.first_sample,
                   0, static_cast<std::int64_t>(found.samples()));
      };
      std::fill(at(span.low), at(span.high), 0.0);
    }
  }
  return tones;
}

void TakeIsolation::require_audible() const {
  for (std::size_t k = 0; k < tones_.size(); ++k) {
    const SpeedCurve::Range speed = tones_[k].angle->range(Seconds(0.0), length());
    const Hertz low = frequency_of(tones_[k].order, speed.low);
    const Hertz high = frequency_of(tones_[k].order, speed.high);
    const Hertz upper_edge = high + 0.5 * parameters_.width.at(high);
    if (upper_edge.value > 0.5 * sample_rate_)
      throw Error(Fault::command, names_[k],
                  fmt::format("{} in {}, and the recording holds nothing above {:.0f} Hz",
                              range_words(low, high), id_, 0.5 * sample_rate_),
                  "ask for what the recording holds");
    if (parameters_.width.at(low) > low)
      throw Error(Fault::command, names_[k],
                  fmt::format("{} in {}, which is less than the width of the filter, {:.3g} Hz",
                              range_words(low, high), id_, parameters_.width.at(low).value),
                  fmt::format("give a --width of {:.3f}Hz or less", 0.999 * low.value));
  }
}

void TakeIsolation::require_length() const {
  for (const FollowedTone& tone : tones_) {
    const SpeedCurve::Range speed = tone.angle->range(Seconds(0.0), length());
    const Hertz narrowest = parameters_.width.at(frequency_of(tone.order, speed.low));
    const double needed = kLeastWidthsInLength / narrowest.value;
    if (length().value < needed)
      throw Error(Fault::command, "take " + id_,
                  fmt::format("lasts {:.2f} s; a filter {:.3g} Hz wide needs {:.2f} s",
                              length().value, narrowest.value, needed),
                  fmt::format("give a --width of {:.3f}Hz or more, or record longer",
                              1.001 * kLeastWidthsInLength / length().value));
  }
}

OrderFilter TakeIsolation::filter(std::function<void(const FilteredPiece&)> to) const {
  try {
    return {tones_, sample_rate_, samples_, parameters_, std::move(to)};
  } catch (const std::invalid_argument& why) {
    throw refused(id_, why);
  }
}

std::int64_t TakeIsolation::envelope_step() const { return filter({}).samples_between_knots(); }

void TakeIsolation::run(const std::function<void(const IsolatedPiece&)>& to,
                        const Progress& progress) const {
  // The tones come out some time after the samples went in; a second reader fetches those again,
  // however long ago that was.
  Recording ahead(recording_);
  Recording behind(recording_);
  std::vector<float> taken;
  OrderFilter following = filter([&](const FilteredPiece& found) {
    taken.resize(found.samples());
    behind.read(channel_, taken);
    if (!reaches_unknown(found)) return to({found, taken});
    const std::vector<FilteredTone> tones = where_known(found);
    to({{found.first_sample, tones}, taken});
  });
  std::vector<float> chunk(kEnvelopeChunk);
  std::int64_t done = 0;
  try {
    while (const std::size_t got = ahead.read(channel_, chunk)) {
      following.push(std::span(chunk).first(got));
      done += static_cast<std::int64_t>(got);
      progress(static_cast<double>(done) / static_cast<double>(samples_), "following " + names_[0]);
    }
    following.finish();
  } catch (const std::invalid_argument& why) {
    throw refused(id_, why);
  }
}

}  // namespace howl
