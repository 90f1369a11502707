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
constexpr double kMostShared = 0.4;  // of the narrower band

/// Power sums of one length of block, stretch by stretch and group by group.
class LengthSums {
 public:
  LengthSums(double sample_rate, std::size_t length, KurtogramParameters parameters)
      : parameters_(std::move(parameters)),
        sample_rate_(sample_rate),
        length_(length),
        hop_(length / 2),
        stretch_(std::max(kLeastBlocks,
                          static_cast<std::size_t>(parameters_.stretch_seconds * sample_rate /
                                                   static_cast<double>(hop_)))),
        stream_({WindowKind::hann, length, hop_}),
        lines_(stream_.lines()),
        powers_(lines_ * parameters_.groups),
        squares_(lines_ * parameters_.groups),
        counts_(parameters_.groups),
        kurtosis_(lines_) {}

  void push(std::span<const float> samples) {
    stream_.push(samples, [this](std::size_t first, auto columns) { add(first, columns); });
  }

  KurtosisSpectrum finish() {
    stream_.flush([this](std::size_t first, auto columns) { add(first, columns); });
    close_stretch();
    if (used_ < kLeastBlocks) return {};
    KurtosisSpectrum result{.spacing = sample_rate_ / static_cast<double>(length_),
                            .sigma = 0.0,
                            .kurtosis = kurtosis_};
    for (double& k : result.kurtosis) k /= static_cast<double>(used_);
    const std::vector<double> window = make_window(WindowKind::hann, length_);
    result.sigma = spectral_kurtosis_sigma(effective_averages(window, hop_, used_));
    return result;
  }

 private:
  std::size_t group_of(std::size_t block) const {
    if (!parameters_.group_at) return 0;
    const double centre = (static_cast<double>(block) + 1.0) * static_cast<double>(hop_);
    return parameters_.group_at(Seconds(centre / sample_rate_));
  }

  void add(std::size_t first, std::span<const float> columns) {
    for (std::size_t c = 0; c * lines_ < columns.size(); ++c) {
      const std::size_t group = group_of(first + c);
      ++counts_[group];
      for (std::size_t k = 2; k + 2 < lines_; ++k) {
        const auto p = static_cast<double>(columns[c * lines_ + k]);
        powers_[group * lines_ + k] += p;
        squares_[group * lines_ + k] += p * p;
      }
      if (++in_stretch_ == stretch_) close_stretch();
    }
  }

  void close_stretch() {
    constexpr std::size_t least = 4;
    for (std::size_t g = 0; g < counts_.size(); ++g) {
      if (counts_[g] >= least) add_kurtosis(g);
      counts_[g] = 0;
    }
    std::fill(powers_.begin(), powers_.end(), 0.0);
    std::fill(squares_.begin(), squares_.end(), 0.0);
    in_stretch_ = 0;
  }

  void add_kurtosis(std::size_t group) {
    const auto count = static_cast<double>(counts_[group]);
    for (std::size_t k = 2; k + 2 < lines_; ++k) {
      const std::size_t i = group * lines_ + k;
      // Silence has no kurtosis; it counts as noise.
      if (powers_[i] > 0.0)
        kurtosis_[k] += count * spectral_kurtosis(powers_[i], squares_[i], count);
    }
    used_ += counts_[group];
  }

  KurtogramParameters parameters_;
  double sample_rate_;
  std::size_t length_;
  std::size_t hop_;
  std::size_t stretch_;
  SpectrogramStream stream_;
  std::size_t lines_;
  std::vector<double> powers_;
  std::vector<double> squares_;
  std::vector<std::size_t> counts_;
  std::vector<double> kurtosis_;
  std::size_t in_stretch_ = 0;
  std::size_t used_ = 0;
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

/// Chance that stationary noise reaches `kurtosis`: Pearson's type III distribution with the
/// estimator's skewness, 10/√blocks (Nita and Gary 2010, from memory).
double chance_of(double kurtosis, double sigma) {
  const double blocks = 4.0 / (sigma * sigma);
  const double shape = blocks / 25.0;
  const double place = shape + std::sqrt(shape) * kurtosis / sigma;
  return place > 0.0 ? 1.0 - gamma_p(shape, place) : 1.0;
}

/// Every `step`-th band of a spectrum that lies within.
void add_bands(const KurtosisSpectrum& spectrum, const Interval& within, std::size_t step,
               std::vector<ImpulsiveBand>& bands) {
  for (std::size_t k = 2; k + 2 < spectrum.kurtosis.size(); ++k) {
    const double centre = static_cast<double>(k) * spectrum.spacing;
    const Interval band{centre - spectrum.spacing, centre + spectrum.spacing};
    if (band.low < within.low || band.high > within.high) continue;
    bands.push_back({band, spectrum.kurtosis[k], spectrum.sigma,
                     chance_of(spectrum.kurtosis[k], spectrum.sigma)});
    k += step - 1;
  }
}

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
  if (!(sample_rate > 0.0) || !(parameters.widest_spacing > 0.0) || parameters.lengths == 0 ||
      parameters.groups == 0)
    throw std::invalid_argument("kurtogram: parameters are outside their ranges");
  std::size_t length = shortest_block(sample_rate, parameters.widest_spacing);
  for (std::size_t i = 0; i < parameters.lengths; ++i, length *= 2)
    state_->lengths.emplace_back(sample_rate, length, parameters);
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
    add_bands(spectrum, parameters.within_hz, 1, looked_at);
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
      return shared(band.hertz, other.hertz) > kMostShared;
    });
    if (!taken && best.size() < parameters.most) best.push_back(band);
  }
  return best;
}

std::vector<ImpulsiveBand> side_by_side(const KurtosisSpectrum& spectrum, Interval within_hz) {
  std::vector<ImpulsiveBand> bands;
  add_bands(spectrum, within_hz, 2, bands);
  return bands;
}

}  // namespace howl
