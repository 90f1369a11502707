// Writes signals, the phases of what they hold, and the envelopes that our Vold-Kalman filter finds
// in them, for compare_envelopes.py, into the folder named on the command line: settings.csv with
// one row a setting; signal_N.f32, turns_N.f64 (tone by tone, a value a sample) and envelope_N.c128
// for row N. All raw numbers are in the machine's own byte order.
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "dsp/order_filter.h"
#include "dsp/statistics.h"
#include "dsp/synth.h"

namespace {

struct Setting {
  double sample_rate;
  std::size_t samples;
  double width_hz;
  int poles;
};

// Width over rate above 1/32 (1/128 for one pole): solved sample by sample. Below: by splines.
constexpr Setting settings[] = {
    {8000.0, 600, 500.0, 1}, {8000.0, 600, 400.0, 2}, {8000.0, 400, 400.0, 3},
    {8000.0, 8000, 40.0, 1}, {8000.0, 8000, 40.0, 2}, {8000.0, 8000, 40.0, 3},
};

/// Orders 20 and 26 of an engine that rises from 1800 to 4200 rpm, which both cross 1200 Hz.
std::vector<howl::FollowedTone> tones_of(const Setting& setting) {
  const double seconds = static_cast<double>(setting.samples) / setting.sample_rate;
  const std::vector<howl::SpeedPoint> points{{howl::Seconds(0.0), howl::Rpm(1800.0)},
                                             {howl::Seconds(seconds), howl::Rpm(4200.0)}};
  const auto speed =
      std::make_shared<const howl::SpeedCurve>(howl::SpeedCurve::through(points, 0.0));
  return {{speed, howl::Order(20.0)},
          {speed, howl::Order(26.0)},
          howl::fixed_pitch(howl::Hertz(1200.0))};
}

std::vector<float> signal_of(const Setting& setting) {
  howl::Random random(5);
  auto signal = howl::synth_noise(setting.samples, 0.02, random);
  double amplitude = 0.1;
  for (const howl::FollowedTone& tone : tones_of(setting)) {
    howl::synth_add(signal, howl::synth_order(*tone.angle, tone.order, setting.samples,
                                              setting.sample_rate, amplitude, 0.7));
    amplitude += 0.05;
  }
  return signal;
}

std::vector<double> turns_of(const howl::FollowedTone& tone, const Setting& setting) {
  std::vector<double> turns(setting.samples);
  for (std::size_t n = 0; n < turns.size(); ++n)
    turns[n] = tone.order.value * tone.angle->revolutions_at(
                                      howl::Seconds(static_cast<double>(n) / setting.sample_rate));
  return turns;
}

std::ofstream create(const std::filesystem::path& file) {
  std::ofstream out(file, std::ios::binary);
  out.exceptions(std::ios::failbit | std::ios::badbit);
  return out;
}

template <class Number>
void append(std::ofstream& out, const std::vector<Number>& numbers) {
  const auto bytes = std::as_bytes(std::span(numbers));
  out.write(reinterpret_cast<const char*>(bytes.data()),
            static_cast<std::streamsize>(bytes.size()));
}

void write_setting(const std::filesystem::path& folder, std::size_t row, std::ofstream& table) {
  const Setting& setting = settings[row];
  const auto tones = tones_of(setting);
  const auto signal = signal_of(setting);
  const std::string ending = "_" + std::to_string(row);
  const howl::OrderFilterParameters parameters{{howl::Hertz(setting.width_hz), 0.0}, setting.poles};
  const howl::OrderFilter filter(tones, setting.sample_rate,
                                 static_cast<std::int64_t>(setting.samples), parameters,
                                 [](const howl::FilteredPiece&) {});
  table << setting.sample_rate << ',' << setting.width_hz << ',' << setting.poles << ','
        << filter.samples_between_knots() << '\n';
  auto signal_file = create(folder / ("signal" + ending + ".f32"));
  append(signal_file, signal);
  auto turns_file = create(folder / ("turns" + ending + ".f64"));
  for (const howl::FollowedTone& tone : tones) append(turns_file, turns_of(tone, setting));
  auto envelope_file = create(folder / ("envelope" + ending + ".c128"));
  for (const howl::FilteredTone& tone :
       howl::filter_orders(signal, setting.sample_rate, tones, parameters))
    append(envelope_file, tone.envelope);
}

void write_all(const std::filesystem::path& folder) {
  std::filesystem::create_directories(folder);
  std::ofstream table = create(folder / "settings.csv");
  table.precision(17);
  table << "sample_rate_hz,width_hz,poles,samples_between_knots\n";
  for (std::size_t row = 0; row < std::size(settings); ++row) write_setting(folder, row, table);
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) {
    std::fprintf(stderr, "usage: write_envelopes FOLDER\n");
    return 2;
  }
  write_all(arguments[1]);
}
