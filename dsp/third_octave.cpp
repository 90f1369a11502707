#include "dsp/third_octave.h"

#include <cmath>

namespace howl {
namespace {

constexpr double octave_lg = 0.3;

double octaves(double count) { return std::pow(10.0, octave_lg * count); }

bool resolved(const PowerSpectrum& spectrum, const OctaveBand& band) {
  constexpr double least_noise_bandwidths = 8.0;
  if (spectrum.power.empty()) return false;
  const Hertz last{spectrum.position(spectrum.power.size() - 1)};
  return band.edges.width().value >= least_noise_bandwidths * spectrum.noise_bandwidth() &&
         band.edges.high <= last;
}

double filtered_mean_square(const PowerSpectrum& spectrum, const OctaveBand& band) {
  double sum = 0.0;
  for (std::size_t k = 1; k < spectrum.power.size(); ++k) {
    sum += spectrum.power[k] * third_octave_response(spectrum.position(k) / band.middle.value);
  }
  return sum / spectrum.noise_bandwidth_bins;
}

}  // namespace

OctaveBand octave_band(int index, int bands_per_octave) {
  const double half_step = bands_per_octave % 2 == 0 ? 0.5 : 0.0;
  const double fraction = bands_per_octave;
  const Hertz middle = Hertz(1000.0) * octaves((index + half_step) / fraction);
  const double half_band = octaves(0.5 / fraction);
  return {middle, {middle / half_band, middle * half_band}};
}

OctaveBand third_octave_band(int index) { return octave_band(index, 3); }

int third_octave_index(Hertz frequency) {
  return static_cast<int>(std::lround(10.0 * std::log10(frequency / Hertz(1000.0))));
}

double third_octave_response(double ratio) {
  static const double quality = 1.0 / (octaves(1.0 / 6.0) - octaves(-1.0 / 6.0));
  const double detuning = quality * (ratio - 1.0 / ratio);
  const double squared = detuning * detuning;
  return 1.0 / (1.0 + squared * squared * squared);
}

std::vector<ThirdOctave> third_octaves(const PowerSpectrum& spectrum, int first, int last) {
  std::vector<ThirdOctave> bands;
  for (int index = first; index <= last; ++index) {
    ThirdOctave& result = bands.emplace_back(ThirdOctave{index, third_octave_band(index), {}});
    if (resolved(spectrum, result.band)) {
      result.mean_square = filtered_mean_square(spectrum, result.band);
    }
  }
  return bands;
}

}  // namespace howl
