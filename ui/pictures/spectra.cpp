#include "ui/pictures/spectra.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "src/report/scale.h"

namespace howl::desk {
namespace {

std::optional<double> level_of(const PowerSpectrum& spectrum, double hz) {
  const double line = std::round(hz / spectrum.spacing);
  if (line < 0 || line >= static_cast<double>(spectrum.power.size())) return std::nullopt;
  return spectrum_level_db(spectrum.power[static_cast<std::size_t>(line)]);
}

void add_part(std::string& words, const std::string& name, double db) {
  if (!words.empty()) words += " · ";
  words += (name.empty() ? "" : name + " ") + picture::format_number(db, 1) + " dB";
}

}  // namespace

double spectrum_level_db(double mean_square) {
  return 10.0 * std::log10(std::max(2.0 * mean_square, 1e-16));
}

std::string difference_name(const NamedSpectrum& first, const NamedSpectrum& second) {
  return first.take + " − " + second.take;
}

std::string levels_at(std::span<const NamedSpectrum> spectra, double hz, bool differences) {
  std::string words;
  for (const NamedSpectrum& each : spectra)
    if (const auto db = level_of(*each.spectrum, hz))
      add_part(words, spectra.size() > 1 ? each.take : "", *db);
  if (!differences) return words;
  for (const NamedSpectrum& other : spectra.subspan(std::min<std::size_t>(1, spectra.size()))) {
    const SpectrumDifference difference(*spectra.front().spectrum, *other.spectrum);
    const auto line =
        static_cast<std::size_t>(std::lround(std::max(0.0, hz / difference.spacing())));
    if (const auto db = difference.db(line))
      add_part(words, difference_name(spectra.front(), other), *db);
  }
  return words;
}

std::string unlike_words(std::span<const NamedSpectrum> spectra) {
  constexpr double alike = 1.03;  // lines of order 10 then lie within a third of an order
  std::optional<double> low;
  std::optional<double> high;
  for (const NamedSpectrum& each : spectra) {
    if (!each.rpm) return each.take + " has no one speed: in Hz it is not like for like";
    low = std::min(low.value_or(*each.rpm), *each.rpm);
    high = std::max(high.value_or(*each.rpm), *each.rpm);
  }
  if (!low || *high <= alike * *low) return {};
  return fmt::format("speeds differ, {} and {} rpm: in Hz this is not like for like",
                     picture::format_number(*low, 0), picture::format_number(*high, 0));
}

}  // namespace howl::desk
