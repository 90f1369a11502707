#include "dsp/spectrum.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>
#include <utility>

#include "dsp/spectrogram.h"

namespace howl {
namespace {

double energy_at_lag(std::span<const double> window, std::size_t lag) {
  const auto late = window.subspan(lag);
  return std::inner_product(late.begin(), late.end(), window.begin(), 0.0);
}

}  // namespace

struct WelchSpectrum::State {
  State(double rate, WelchParameters welch, TimeSpans omitted)
      : sample_rate(rate),
        parameters(welch),
        left_out(std::move(omitted)),
        stream({welch.window, welch.length, welch.hop}),
        sink([this](std::size_t first, std::span<const float> columns) { add(first, columns); }),
        sums(stream.lines()) {}

  bool counts(std::size_t block) const {
    const auto start = static_cast<double>(block * parameters.hop);
    return !reaches_into(left_out, start / sample_rate,
                         (start + static_cast<double>(parameters.length)) / sample_rate);
  }

  void add(std::size_t block, std::span<const float> columns) {
    for (; !columns.empty(); columns = columns.subspan(sums.size()), ++block) {
      if (!counts(block)) continue;
      ++averaged;
      std::transform(sums.begin(), sums.end(), columns.begin(), sums.begin(),
                     [](double sum, float line) { return sum + static_cast<double>(line); });
    }
  }

  std::size_t blocks() const {
    return pushed < parameters.length ? 0 : (pushed - parameters.length) / parameters.hop + 1;
  }

  double sample_rate;
  WelchParameters parameters;
  TimeSpans left_out;
  SpectrogramStream stream;
  SpectrogramStream::Sink sink;
  std::vector<double> sums;
  std::size_t pushed{};
  std::size_t averaged{};
};

WelchSpectrum::WelchSpectrum(double sample_rate, WelchParameters parameters, TimeSpans left_out)
    : state_(std::make_unique<State>(sample_rate, parameters, std::move(left_out))) {
  if (!(sample_rate > 0.0)) throw std::invalid_argument("spectrum: no sample rate");
}

WelchSpectrum::~WelchSpectrum() = default;
WelchSpectrum::WelchSpectrum(WelchSpectrum&&) noexcept = default;
WelchSpectrum& WelchSpectrum::operator=(WelchSpectrum&&) noexcept = default;

void WelchSpectrum::push(std::span<const float> samples) {
  state_->stream.push(samples, state_->sink);
  state_->pushed += samples.size();
}

std::size_t WelchSpectrum::blocks() const { return state_->blocks(); }

PowerSpectrum WelchSpectrum::result() const {
  state_->stream.flush(state_->sink);
  const WelchParameters& parameters = state_->parameters;
  const auto window = make_window(parameters.window, parameters.length);
  PowerSpectrum spectrum{
      .spacing = state_->sample_rate / static_cast<double>(parameters.length),
      .window = parameters.window,
      .noise_bandwidth_bins = noise_bandwidth_bins(window),
      .effective_averages = effective_averages(window, parameters.hop, state_->averaged),
      .power = {}};
  if (state_->averaged == 0) return spectrum;
  spectrum.power = state_->sums;
  for (double& line : spectrum.power) line /= static_cast<double>(state_->averaged);
  return spectrum;
}

PowerSpectrum welch_spectrum(std::span<const float> samples, double sample_rate,
                             WelchParameters parameters) {
  WelchSpectrum spectrum(sample_rate, parameters);
  spectrum.push(samples);
  return spectrum.result();
}

double effective_averages(std::span<const double> window, std::size_t hop, std::size_t blocks) {
  if (hop == 0) throw std::invalid_argument("spectrum: the hop must be at least 1");
  if (blocks == 0) return 0.0;
  const auto count = static_cast<double>(blocks);
  const double energy = energy_at_lag(window, 0);
  double excess = 0.0;
  for (std::size_t m = 1; m < blocks && m * hop < window.size(); ++m) {
    const double correlation = energy_at_lag(window, m * hop) / energy;
    excess += (1.0 - static_cast<double>(m) / count) * correlation * correlation;
  }
  return count / (1.0 + 2.0 * excess);
}

Interval chi_square_factors(double effective_averages, double confidence) {
  const double degrees = 2.0 * effective_averages;
  const double tail = 0.5 * (1.0 - confidence);
  return {degrees / chi_square_quantile(1.0 - tail, degrees),
          degrees / chi_square_quantile(tail, degrees)};
}

double band_power(const PowerSpectrum& spectrum, double low, double high) {
  if (spectrum.power.empty()) throw std::invalid_argument("band power of an empty spectrum");
  const auto top = static_cast<double>(spectrum.power.size() - 1);
  const double from = std::clamp(low / spectrum.spacing, 0.0, top);
  const double to = std::clamp(high / spectrum.spacing, 0.0, top);
  double sum = 0.0;
  for (auto line = static_cast<std::size_t>(std::round(from)); line < spectrum.power.size();
       ++line) {
    const double left = std::max(static_cast<double>(line) - 0.5, 0.0);
    const double right = std::min(static_cast<double>(line) + 0.5, top);
    if (left >= to) break;
    const double covered = std::max(std::min(right, to) - std::max(left, from), 0.0);
    sum += spectrum.power[line] * covered / (right - left);
  }
  return sum / spectrum.noise_bandwidth_bins;
}

}  // namespace howl
