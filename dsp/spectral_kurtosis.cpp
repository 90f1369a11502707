#include "dsp/spectral_kurtosis.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "dsp/spectrogram.h"
#include "dsp/spectrum.h"

namespace howl {

namespace {

constexpr std::size_t kLeastBlocks = 32;

/// Power sums of one length of block, stretch by stretch.
class LengthSums {
 public:
  LengthSums(double sample_rate, std::size_t length, double stretch_seconds)
      : spacing_(sample_rate / static_cast<double>(length)),
        window_(make_window(WindowKind::hann, length)),
        hop_(length / 2),
        stretch_(std::max<std::size_t>(
            kLeastBlocks,
            static_cast<std::size_t>(stretch_seconds * sample_rate / static_cast<double>(hop_)))),
        stream_({WindowKind::hann, length, hop_}),
        powers_(stream_.lines()),
        squares_(stream_.lines()),
        kurtosis_(stream_.lines()) {}

  void push(std::span<const float> samples) {
    stream_.push(samples, [&](std::size_t, std::span<const float> columns) { add(columns); });
  }

  KurtosisSpectrum finish() {
    stream_.flush([&](std::size_t, std::span<const float> columns) { add(columns); });
    // A short rest would say little and nothing of it is lost but the end of the take.
    if (2 * in_stretch_ >= stretch_ || blocks_ == 0) close_stretch();
    if (blocks_ < kLeastBlocks) return {};
    KurtosisSpectrum result{.spacing = spacing_, .sigma = 0.0, .kurtosis = kurtosis_};
    for (double& k : result.kurtosis) k /= static_cast<double>(blocks_);
    result.sigma = spectral_kurtosis_sigma(effective_averages(window_, hop_, blocks_));
    return result;
  }

 private:
  void add(std::span<const float> columns) {
    for (std::size_t c = 0; c < columns.size(); c += powers_.size()) {
      for (std::size_t k = 2; k + 2 < powers_.size(); ++k) {
        const auto p = static_cast<double>(columns[c + k]);
        powers_[k] += p;
        squares_[k] += p * p;
      }
      if (++in_stretch_ == stretch_) close_stretch();
    }
  }

  void close_stretch() {
    if (in_stretch_ < 2) return;
    const auto count = static_cast<double>(in_stretch_);
    for (std::size_t k = 2; k + 2 < powers_.size(); ++k) {
      // Silence has no kurtosis; it counts as noise.
      if (powers_[k] > 0.0)
        kurtosis_[k] += count * spectral_kurtosis(powers_[k], squares_[k], count);
      powers_[k] = squares_[k] = 0.0;
    }
    blocks_ += in_stretch_;
    in_stretch_ = 0;
  }

  double spacing_;
  std::vector<double> window_;
  std::size_t hop_;
  std::size_t stretch_;
  SpectrogramStream stream_;
  std::vector<double> powers_;
  std::vector<double> squares_;
  std::vector<double> kurtosis_;
  std::size_t in_stretch_ = 0;
  std::size_t blocks_ = 0;
};

std::size_t shortest_block(double sample_rate, double widest_spacing) {
  std::size_t length = 8;
  while (sample_rate / static_cast<double>(length) > widest_spacing) length *= 2;
  return length;
}

double shared(const Interval& a, const Interval& b) {
  const double common = std::min(a.high, b.high) - std::max(a.low, b.low);
  return std::max(0.0, common) / std::min(a.width(), b.width());
}

/// Chance that a standard normal exceeds z; accurate far out.
double normal_tail(double z) { return 0.5 * std::erfc(z / std::sqrt(2.0)); }

}  // namespace

double spectral_kurtosis(double sum_of_powers, double sum_of_squared_powers, double blocks) {
  const double ratio = blocks * sum_of_squared_powers / (sum_of_powers * sum_of_powers);
  return (blocks + 1.0) / (blocks - 1.0) * (ratio - 1.0) - 1.0;
}

double spectral_kurtosis_sigma(double blocks) { return 2.0 / std::sqrt(blocks); }

struct Kurtogram::State {
  std::vector<LengthSums> lengths;
  float before = 0.0F;
  float before_that = 0.0F;
  std::vector<float> differenced;
};

Kurtogram::Kurtogram(double sample_rate, KurtogramParameters parameters)
    : state_(std::make_unique<State>()) {
  if (!(sample_rate > 0.0) || !(parameters.widest_spacing > 0.0) || parameters.lengths == 0)
    throw std::invalid_argument("kurtogram: parameters are outside their ranges");
  std::size_t length = shortest_block(sample_rate, parameters.widest_spacing);
  for (std::size_t i = 0; i < parameters.lengths; ++i, length *= 2)
    state_->lengths.emplace_back(sample_rate, length, parameters.stretch_seconds);
}
Kurtogram::~Kurtogram() = default;
Kurtogram::Kurtogram(Kurtogram&&) noexcept = default;
Kurtogram& Kurtogram::operator=(Kurtogram&&) noexcept = default;

void Kurtogram::push(std::span<const float> samples) {
  State& s = *state_;
  s.differenced.clear();
  for (const float x : samples) {
    s.differenced.push_back(x - 2.0F * s.before + s.before_that);
    s.before_that = s.before;
    s.before = x;
  }
  for (LengthSums& sums : s.lengths) sums.push(s.differenced);
}

std::vector<KurtosisSpectrum> Kurtogram::finish() {
  std::vector<KurtosisSpectrum> spectra;
  for (LengthSums& sums : state_->lengths) {
    KurtosisSpectrum spectrum = sums.finish();
    if (!spectrum.kurtosis.empty()) spectra.push_back(std::move(spectrum));
  }
  return spectra;
}

std::vector<ImpulsiveBand> impulsive_bands(std::span<const KurtosisSpectrum> kurtogram,
                                           const ImpulsiveBandParameters& parameters) {
  std::vector<ImpulsiveBand> looked_at;
  for (const KurtosisSpectrum& spectrum : kurtogram)
    for (std::size_t k = 2; k + 2 < spectrum.kurtosis.size(); ++k) {
      const double centre = static_cast<double>(k) * spectrum.spacing;
      const Interval band{centre - spectrum.spacing, centre + spectrum.spacing};
      if (band.low < parameters.within_hz.low || band.high > parameters.within_hz.high) continue;
      looked_at.push_back({band, spectrum.kurtosis[k], spectrum.sigma,
                           normal_tail(spectrum.kurtosis[k] / spectrum.sigma)});
    }
  const auto count = static_cast<double>(looked_at.size());
  for (ImpulsiveBand& band : looked_at) band.false_alarm = std::min(1.0, count * band.false_alarm);
  std::erase_if(looked_at, [&](const ImpulsiveBand& band) {
    return band.false_alarm >= parameters.false_alarm;
  });
  std::stable_sort(looked_at.begin(), looked_at.end(),
                   [](const auto& a, const auto& b) { return a.kurtosis > b.kurtosis; });
  std::vector<ImpulsiveBand> best;
  for (const ImpulsiveBand& band : looked_at) {
    const bool taken = std::any_of(best.begin(), best.end(), [&](const ImpulsiveBand& other) {
      return shared(band.hertz, other.hertz) > 0.5;
    });
    if (!taken && best.size() < parameters.most) best.push_back(band);
  }
  return best;
}

}  // namespace howl
