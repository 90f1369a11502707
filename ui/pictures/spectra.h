#pragma once

#include <optional>
#include <span>
#include <string>

#include "dsp/spectrum.h"
#include "dsp/spectrum_difference.h"

namespace howl::desk {

/// A take's spectrum, with what is said of it where several are shown.
struct NamedSpectrum {
  std::string take;
  std::string point;
  const PowerSpectrum* spectrum{};
  std::optional<double> rpm;  ///< none: the speed changes, or the engine is off
};

/// dB re full-scale sine; silence reads −160.
double spectrum_level_db(double mean_square);

/// "t01 − t02"
std::string difference_name(const NamedSpectrum& first, const NamedSpectrum& second);

/// The levels at a frequency, each with its take where there are several:
/// "t01 −31.2 dB · t02 −43.0 dB"; with `differences` the first less each other too:
/// "… · t01 − t02 11.8 dB".
std::string levels_at(std::span<const NamedSpectrum> spectra, double hz, bool differences);

/// Why spectra in Hz are not like for like; empty where they are.
std::string unlike_words(std::span<const NamedSpectrum> spectra);

}  // namespace howl::desk
