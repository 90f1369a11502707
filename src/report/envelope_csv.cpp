#include "src/report/envelope_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <optional>
#include <utility>

#include "src/errors.h"
#include "src/report/text_columns.h"
#include "src/version.h"

namespace howl {

namespace {

constexpr double kRowsPerSecond = 100.0;

std::int64_t row_step(const TakeIsolation& isolation) {
  const std::int64_t step = isolation.envelope_step();
  const double wanted = isolation.sample_rate() / kRowsPerSecond;
  return step * std::max<std::int64_t>(
                    1, static_cast<std::int64_t>(std::ceil(wanted / static_cast<double>(step))));
}

/// "2 % of the frequency, at least 2 Hz"
std::string width_words(const FilterWidth& width) {
  const std::string least = fmt::format("{:g} Hz", width.least.value);
  if (width.share == 0.0) return least;
  const std::string share = fmt::format("{:.3g} % of the frequency", 100.0 * width.share);
  return width.least.value == 0.0 ? share : share + ", at least " + least;
}

/// "order 9.5" as part of a column's name: order_9.5; "480 Hz" as tone_480_hz.
std::string column_stem(std::string name) {
  if (name.ends_with(" Hz")) name = "tone " + name.substr(0, name.size() - 3) + " hz";
  std::replace(name.begin(), name.end(), ' ', '_');
  return name;
}

std::string column_heading(const Take& take, const TakeIsolation& isolation) {
  std::string text = fmt::format(
      "# howlpoint {}: tones of take {} at {}\n"
      "# filter: Vold-Kalman, {} between the -3 dB edges, poles: {}\n"
      "# time_s: s from the start of the recording; rpm: crankshaft speed; frequency_hz: Hz;\n"
      "# level_db: dB re full-scale sine; phase_deg: degrees, of a cosine over the crankshaft "
      "angle\n"
      "# from the start (fixed pitch: over time from the start); empty: not known\n"
      "time_s,rpm",
      version, take.id, printable(take.point), width_words(isolation.parameters().width),
      isolation.parameters().poles);
  for (const std::string& name : isolation.names()) {
    const std::string stem = column_stem(name);
    text += fmt::format(",{0}_frequency_hz,{0}_level_db,{0}_phase_deg", stem);
  }
  return text + "\n";
}

std::string level_and_phase(std::complex<double> envelope, const FollowedTone& tone) {
  if (envelope == std::complex<double>{}) return ",,";
  const double start = tone.order.value * tone.angle->revolutions_at(Seconds(0.0));
  const double turns = std::arg(envelope) / (2.0 * std::numbers::pi) + start;
  return fmt::format(",{:.2f},{:.1f}", 20.0 * std::log10(std::abs(envelope)),
                     360.0 * std::remainder(turns, 1.0));
}

}  // namespace

EnvelopeCsv::EnvelopeCsv(std::filesystem::path file, const Take& take,
                         const TakeIsolation& isolation)
    : file_(std::move(file)),
      isolation_(isolation),
      step_(row_step(isolation)),
      out_(file_, std::ios::binary) {
  out_ << column_heading(take, isolation);
  require_written();
}

void EnvelopeCsv::add(const FilteredPiece& piece) {
  const auto samples = static_cast<std::int64_t>(piece.samples());
  const std::int64_t late = piece.first_sample % step_;
  for (std::int64_t i = late == 0 ? 0 : step_ - late; i < samples; i += step_) {
    const Seconds time(static_cast<double>(piece.first_sample + i) / isolation_.sample_rate());
    const std::optional<Rpm> speed = isolation_.speed_at(time);
    out_ << fmt::format("{:.4f},{}", time.value, speed ? fmt::format("{:.1f}", speed->value) : "");
    for (std::size_t k = 0; k < piece.tones.size(); ++k) {
      const std::optional<Hertz> pitch = isolation_.frequency_at(k, time);
      out_ << (pitch ? fmt::format(",{:.3f}", pitch->value) : ",")
           << level_and_phase(piece.tones[k].envelope[static_cast<std::size_t>(i)],
                              isolation_.tones()[k]);
    }
    out_ << '\n';
  }
  require_written();
}

void EnvelopeCsv::close() {
  out_.close();
  require_written();
}

void EnvelopeCsv::require_written() const {
  if (!out_)
    throw Error(Fault::machine, file_.string(), "cannot be written",
                "check the folder and the space on the disk");
}

}  // namespace howl
