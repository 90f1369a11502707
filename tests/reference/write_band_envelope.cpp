// Writes a signal, our envelope of one of its bands and our spectral kurtosis of it, for
// compare_band_envelope.py, into the folder named on the command line: signal.f32, envelope.f64,
// kurtosis_N.f64 for block length N, and settings.csv. All raw numbers are in the machine's own
// byte order.
#include <cmath>
#include <complex>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <span>
#include <string>
#include <vector>

#include "dsp/band_envelope.h"
#include "dsp/spectral_kurtosis.h"
#include "dsp/synth.h"

namespace {

constexpr double sample_rate = 24000.0;
constexpr howl::Interval band{3200.0, 4400.0};
constexpr double stretch_seconds = 0.7;

/// Three seconds: blows on a resonance, a modulated tone, noise.
std::vector<float> make_signal() {
  howl::Random random(21);
  std::vector<float> signal(static_cast<std::size_t>(3.0 * sample_rate));
  for (std::size_t n = 0; n < signal.size(); n += 331) signal[n] = 1.0F;
  howl::synth_resonance(signal, sample_rate, howl::Hertz(3800.0), 0.03);
  for (std::size_t n = 0; n < signal.size(); ++n) {
    const double t = static_cast<double>(n) / sample_rate;
    const double swell = 1.0 + 0.5 * std::sin(2.0 * std::numbers::pi * 17.0 * t);
    signal[n] += static_cast<float>(0.2 * swell * std::sin(2.0 * std::numbers::pi * 3500.0 * t) +
                                    0.05 * howl::draw_normal(random));
  }
  return signal;
}

template <class Number>
void write(const std::filesystem::path& file, const std::vector<Number>& numbers) {
  std::ofstream out(file, std::ios::binary);
  out.exceptions(std::ios::failbit | std::ios::badbit);
  const auto bytes = std::as_bytes(std::span(numbers));
  out.write(reinterpret_cast<const char*>(bytes.data()),
            static_cast<std::streamsize>(bytes.size()));
}

void write_all(const std::filesystem::path& folder) {
  std::filesystem::create_directories(folder);
  const std::vector<float> signal = make_signal();
  write(folder / "signal.f32", signal);

  howl::BandEnvelope envelope(sample_rate, band, 100.0);
  std::vector<std::complex<float>> analytic;
  envelope.push(signal, analytic);
  envelope.finish(analytic);
  std::vector<double> magnitude;
  for (const std::complex<float>& z : analytic)
    magnitude.push_back(static_cast<double>(std::abs(z)));
  write(folder / "envelope.f64", magnitude);

  howl::Kurtogram kurtogram(sample_rate, {.stretch_seconds = stretch_seconds});
  kurtogram.push(signal);
  std::ofstream table(folder / "settings.csv");
  table.exceptions(std::ios::failbit | std::ios::badbit);
  table.precision(17);
  table << "sample_rate_hz,low_hz,high_hz,envelope_rate_hz,settling_s,stretch_s,lengths\n"
        << sample_rate << ',' << band.low << ',' << band.high << ',' << envelope.output_rate()
        << ',' << envelope.settling() << ',' << stretch_seconds << ',';
  for (const howl::KurtosisSpectrum& spectrum : kurtogram.finish()) {
    const auto length = static_cast<long>(std::lround(sample_rate / spectrum.spacing));
    write(folder / ("kurtosis_" + std::to_string(length) + ".f64"), spectrum.kurtosis);
    table << length << ' ';
  }
  table << '\n';
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) {
    std::fprintf(stderr, "usage: write_band_envelope FOLDER\n");
    return 2;
  }
  write_all(arguments[1]);
}
