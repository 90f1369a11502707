#include "dsp/spectrum_difference.h"

#include <algorithm>
#include <cmath>

#include "dsp/statistics.h"

namespace howl {
namespace {

constexpr double kMainLobeLines = 4.0;

double averaging_variance_db(const PowerSpectrum& spectrum) {
  const double sd = 10.0 / std::log(10.0);  // of one square, 10 lg
  return sd * sd / std::max(1.0, spectrum.effective_averages);
}

}  // namespace

SpectrumDifference::SpectrumDifference(const PowerSpectrum& first, const PowerSpectrum& second)
    : first_(&first),
      second_(&second),
      coarser_(first.spacing >= second.spacing ? &first : &second) {}

bool SpectrumDifference::alike() const {
  return first_->spacing == second_->spacing && first_->window == second_->window;
}

double SpectrumDifference::resolution() const {
  return alike() ? coarser_->noise_bandwidth() : kMainLobeLines * spacing();
}

std::size_t SpectrumDifference::lines() const {
  if (first_->power.empty() || second_->power.empty()) return 0;
  const double reach = std::min(first_->position(first_->power.size() - 1),
                                second_->position(second_->power.size() - 1));
  return std::min(coarser_->power.size(), static_cast<std::size_t>(reach / spacing() + 1e-9) + 1);
}

std::optional<double> SpectrumDifference::db(std::size_t line) const {
  if (line >= lines()) return std::nullopt;
  const double middle = coarser_->position(line);
  const double half = 0.5 * resolution();
  const auto level = [&](const PowerSpectrum& spectrum) {
    return alike() ? spectrum.power[line]
                   : band_power(spectrum, std::max(0.0, middle - half), middle + half);
  };
  const double first = level(*first_);
  const double second = level(*second_);
  if (!(first > 0.0) || !(second > 0.0)) return std::nullopt;
  return 10.0 * std::log10(first / second);
}

double unexplained_difference_db(const PowerSpectrum& first, const PowerSpectrum& second,
                                 double setting_sd_db) {
  return kNormal95 * std::sqrt(2.0 * setting_sd_db * setting_sd_db + averaging_variance_db(first) +
                               averaging_variance_db(second));
}

}  // namespace howl
