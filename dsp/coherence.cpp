#include "dsp/coherence.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "dsp/fft.h"
#include "dsp/require.h"

namespace howl {
namespace {

WelchParameters checked(WelchParameters parameters) {
  require(parameters.length >= 2 && parameters.length % 2 == 0,
          "cross spectrum: the block length must be even");
  require(parameters.hop >= 1 && parameters.hop <= parameters.length,
          "cross spectrum: the hop must be at least 1 and at most the block length");
  return parameters;
}

void append(std::vector<float>& to, std::span<const float> what) {
  to.insert(to.end(), what.begin(), what.end());
}

void drop_front(std::vector<float>& from, std::size_t samples) {
  from.erase(from.begin(), from.begin() + static_cast<std::ptrdiff_t>(samples));
}

}  // namespace

PowerSpectrum CrossSpectrum::x_spectrum() const {
  return {spacing, window, noise_bandwidth_bins, effective_averages, x};
}

PowerSpectrum CrossSpectrum::y_spectrum() const {
  return {spacing, window, noise_bandwidth_bins, effective_averages, y};
}

struct CrossWelch::State {
  State(double rate, WelchParameters welch, TimeSpans omitted)
      : sample_rate(rate),
        parameters(checked(welch)),
        left_out(std::move(omitted)),
        fft(welch.length),
        window(make_window(welch.window, welch.length)),
        scaled(tone_scaled(window)),
        x_sum(fft.bins()),
        y_sum(fft.bins()),
        cross_sum(fft.bins()),
        x_lines(kFftBatch * fft.bins()),
        y_lines(kFftBatch * fft.bins()) {
    require(rate > 0.0, "cross spectrum: no sample rate");
  }

  std::size_t whole_blocks() const {
    if (x_pending.size() < parameters.length) return 0;
    return (x_pending.size() - parameters.length) / parameters.hop + 1;
  }

  /// Whose lines begin at `first`.
  void add_block(std::size_t first) {
    for (std::size_t line = 0; line < fft.bins(); ++line) {
      const std::complex<double> a(x_lines[first + line]);
      const std::complex<double> b(y_lines[first + line]);
      x_sum[line] += std::norm(a);
      y_sum[line] += std::norm(b);
      cross_sum[line] += std::conj(a) * b;
    }
    ++blocks;
  }

  void add_blocks(std::size_t count) {
    const std::size_t lines = count * fft.bins();
    fft.transform(x_pending, parameters.hop, count, scaled, std::span(x_lines).first(lines));
    fft.transform(y_pending, parameters.hop, count, scaled, std::span(y_lines).first(lines));
    for (std::size_t block = 0; block < count; ++block)
      if (counts(passed + block)) add_block(block * fft.bins());
    drop_front(x_pending, count * parameters.hop);
    drop_front(y_pending, count * parameters.hop);
    passed += count;
  }

  bool counts(std::size_t block) const {
    const auto start = static_cast<double>(block * parameters.hop);
    return !reaches_into(left_out, start / sample_rate,
                         (start + static_cast<double>(parameters.length)) / sample_rate);
  }

  void add_whole_blocks() {
    for (std::size_t count = whole_blocks(); count > 0; count = whole_blocks())
      add_blocks(std::min(count, kFftBatch));
  }

  double sample_rate;
  WelchParameters parameters;
  TimeSpans left_out;
  RealFft fft;
  std::vector<double> window;
  std::vector<float> scaled;
  std::vector<double> x_sum;
  std::vector<double> y_sum;
  std::vector<std::complex<double>> cross_sum;
  std::vector<std::complex<float>> x_lines;
  std::vector<std::complex<float>> y_lines;
  std::vector<float> x_pending;
  std::vector<float> y_pending;
  std::size_t passed{};  // blocks
  std::size_t blocks{};  // of these, those that count
};

CrossWelch::CrossWelch(double sample_rate, WelchParameters parameters, TimeSpans left_out)
    : state_(std::make_unique<State>(sample_rate, parameters, std::move(left_out))) {}

CrossWelch::~CrossWelch() = default;
CrossWelch::CrossWelch(CrossWelch&&) noexcept = default;
CrossWelch& CrossWelch::operator=(CrossWelch&&) noexcept = default;

void CrossWelch::push(std::span<const float> x, std::span<const float> y) {
  require(x.size() == y.size(), "cross spectrum: the two streams differ in length");
  const std::size_t stride = kFftBatch * state_->parameters.hop;
  for (std::size_t from = 0; from < x.size(); from += stride) {
    const std::size_t count = std::min(stride, x.size() - from);
    append(state_->x_pending, x.subspan(from, count));
    append(state_->y_pending, y.subspan(from, count));
    if (state_->whole_blocks() >= kFftBatch) state_->add_whole_blocks();
  }
}

CrossSpectrum CrossWelch::result() const {
  state_->add_whole_blocks();
  const WelchParameters& parameters = state_->parameters;
  CrossSpectrum spectrum{
      .spacing = state_->sample_rate / static_cast<double>(parameters.length),
      .window = parameters.window,
      .noise_bandwidth_bins = noise_bandwidth_bins(state_->window),
      .effective_averages = effective_averages(state_->window, parameters.hop, state_->blocks),
      .x = {},
      .y = {},
      .cross = {}};
  if (state_->blocks == 0) return spectrum;
  spectrum.x = state_->x_sum;
  spectrum.y = state_->y_sum;
  spectrum.cross = state_->cross_sum;
  for (std::size_t line = 0; line < spectrum.x.size(); ++line) {
    // The first and the last line have no mirror image.
    const bool alone = line == 0 || line + 1 == spectrum.x.size();
    const double scale = (alone ? 0.5 : 1.0) / static_cast<double>(state_->blocks);
    spectrum.x[line] *= scale;
    spectrum.y[line] *= scale;
    spectrum.cross[line] *= scale;
  }
  return spectrum;
}

CrossSpectrum cross_spectrum(std::span<const float> x, std::span<const float> y, double sample_rate,
                             WelchParameters parameters) {
  CrossWelch welch(sample_rate, parameters);
  welch.push(x, y);
  return welch.result();
}

std::vector<double> coherence(const CrossSpectrum& spectrum) {
  std::vector<double> lines(spectrum.x.size(), 0.0);
  for (std::size_t k = 0; k < lines.size(); ++k) {
    const double both = spectrum.x[k] * spectrum.y[k];
    if (both > 0.0) lines[k] = std::min(1.0, std::norm(spectrum.cross[k]) / both);
  }
  return lines;
}

double coherence_bias(double coherence, double averages) {
  return (1.0 - coherence) * (1.0 - coherence) / averages;
}

double unbiased_coherence(double coherence, double averages) {
  return std::max(0.0, coherence - coherence_bias(coherence, averages));
}

double coherence_limit(double averages, double alpha) {
  if (averages <= 1.0) return 1.0;
  return 1.0 - std::pow(alpha, 1.0 / (averages - 1.0));
}

double coherence_error(double coherence, double averages) {
  return std::numbers::sqrt2 * (1.0 - coherence) / std::sqrt(coherence * averages);
}

double response_error(double coherence, double averages) {
  return std::sqrt((1.0 - coherence) / (2.0 * coherence * averages));
}

double coherent_power_error(double coherence, double averages) {
  return std::sqrt((2.0 - coherence) / (coherence * averages));
}

std::optional<FrequencyResponse> frequency_response(const CrossSpectrum& spectrum,
                                                    std::size_t line) {
  const double both = spectrum.x.at(line) * spectrum.y[line];
  const double found = both > 0.0 ? std::min(1.0, std::norm(spectrum.cross[line]) / both) : 0.0;
  if (found <= 0.0) return std::nullopt;
  return FrequencyResponse{spectrum.cross[line] / spectrum.x[line],
                           response_error(found, spectrum.effective_averages)};
}

PowerSpectrum coherent_output(const CrossSpectrum& spectrum) {
  PowerSpectrum output = spectrum.y_spectrum();
  const std::vector<double> lines = coherence(spectrum);
  for (std::size_t k = 0; k < lines.size(); ++k)
    output.power[k] *= unbiased_coherence(lines[k], spectrum.effective_averages);
  return output;
}

}  // namespace howl
