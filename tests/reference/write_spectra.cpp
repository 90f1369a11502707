// Writes a signal and our spectra of it, for compare_spectra.py, into the folder named on the
// command line: signal.f32; settings.csv with one row a setting; welch_N.f64 and spectrogram_N.f32
// for row N. Beside it a second signal, second.f32, and of both cross_N.f64 (pairs of real and
// imaginary part) and coherence_N.f64. All raw numbers are in the machine's own byte order.
#include <cmath>
#include <complex>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <span>
#include <string>
#include <vector>

#include "dsp/coherence.h"
#include "dsp/spectrogram.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "dsp/synth.h"

namespace {

constexpr double sample_rate = 48000.0;

constexpr howl::SpectrogramParameters settings[] = {
    {howl::WindowKind::hann, 4096, 1024},
    {howl::WindowKind::hann, 8192, 4096},
    {howl::WindowKind::blackman_harris, 3000, 1000},
    {howl::WindowKind::nuttall4c, 2310, 700},
    {howl::WindowKind::flat_top5, 1024, 512},
    {howl::WindowKind::rectangular, 600, 600},
    {howl::WindowKind::hamming, 254, 127},
};

/// Three seconds: a constant, two steady tones, a sweep from 300 to 1500 Hz, and noise.
std::vector<float> make_signal() {
  howl::Random random(20);
  std::vector<float> signal(static_cast<std::size_t>(3.0 * sample_rate));
  for (std::size_t n = 0; n < signal.size(); ++n) {
    const double t = static_cast<double>(n) / sample_rate;
    const double sweep_turns = 300.0 * t + 200.0 * t * t;
    signal[n] = static_cast<float>(0.05 + 0.3 * std::sin(2.0 * std::numbers::pi * 997.0 * t) +
                                   0.001 * std::sin(2.0 * std::numbers::pi * 12345.6 * t) +
                                   0.1 * std::sin(2.0 * std::numbers::pi * sweep_turns) +
                                   0.01 * howl::draw_normal(random));
  }
  return signal;
}

/// What another microphone hears of the signal: later, through a resonance, with noise of its own.
std::vector<float> second_of(const std::vector<float>& signal) {
  constexpr std::size_t late = 29;
  howl::Random random(21);
  std::vector<float> second(signal.size(), 0.0F);
  for (std::size_t n = late; n < signal.size(); ++n) second[n] = 0.7F * signal[n - late];
  howl::synth_resonance(second, sample_rate, howl::Hertz(2500.0), 0.05);
  for (float& sample : second) sample += static_cast<float>(0.01 * howl::draw_normal(random));
  return second;
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
  const auto signal = make_signal();
  const auto second = second_of(signal);
  write(folder / "signal.f32", signal);
  write(folder / "second.f32", second);
  std::ofstream table(folder / "settings.csv");
  table.exceptions(std::ios::failbit | std::ios::badbit);
  table.precision(17);
  table << "window,length,hop,sample_rate_hz,first_time_s,time_step_s\n";
  for (std::size_t row = 0; row < std::size(settings); ++row) {
    const auto& [window, length, hop] = settings[row];
    const auto grid = howl::spectrogram(signal, sample_rate, settings[row]);
    const auto spectrum = howl::welch_spectrum(signal, sample_rate, {window, length, hop});
    table << howl::window_name(window) << ',' << length << ',' << hop << ',' << sample_rate << ','
          << grid.first_time.value << ',' << grid.time_step.value << '\n';
    write(folder / ("welch_" + std::to_string(row) + ".f64"), spectrum.power);
    write(folder / ("spectrogram_" + std::to_string(row) + ".f32"), grid.power);
    const auto both = howl::cross_spectrum(signal, second, sample_rate, {window, length, hop});
    write(folder / ("cross_" + std::to_string(row) + ".f64"), both.cross);
    write(folder / ("coherence_" + std::to_string(row) + ".f64"), howl::coherence(both));
  }
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) {
    std::fprintf(stderr, "usage: write_spectra FOLDER\n");
    return 2;
  }
  write_all(arguments[1]);
}
