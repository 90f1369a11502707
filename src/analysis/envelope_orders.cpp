#include "src/analysis/envelope_orders.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <utility>

#include "dsp/band_envelope.h"
#include "dsp/order_map.h"

namespace howl {

namespace {

constexpr double kLowestBandHz = 400.0;     // below, single combustion orders fill the bands
constexpr double kHighestBandHz = 12000.0;  // above, a held probe hears little
constexpr double kHighestOrder = 60.0;      // of the envelope
constexpr std::size_t kCovered = 2;         // widths of bands that are all looked into
constexpr std::size_t kSectors = 48;
constexpr double kBlock = 32.0;  // revolutions
constexpr double kHop = 16.0;
constexpr double kLeastRevolutions = 64.0;
constexpr double kBandFalseAlarm = 0.01;
constexpr std::size_t kMostBands = 4;

OrderMapParameters order_parameters(double highest) {
  return {.highest_order = highest, .revolutions = kBlock, .hop_revolutions = kHop};
}

/// Sectors of the engine's cycle, two revolutions.
std::function<std::size_t(Seconds)> sector_of_cycle(const SpeedCurve& speed) {
  return [&speed](Seconds time) {
    const double cycles = 0.5 * speed.revolutions_at(time);
    const double share = cycles - std::floor(cycles);
    return std::min(kSectors - 1, static_cast<std::size_t>(share * kSectors));
  };
}

/// The bands of highest kurtosis, and what lies beside them: blows in quick succession have none.
std::vector<ImpulsiveBand> bands_to_look_at(const TakeAudio& take, const SpeedCurve& speed) {
  Kurtogram kurtogram(take.sample_rate, {.group_at = sector_of_cycle(speed), .groups = kSectors});
  take.stream([&](std::span<const float> chunk) { kurtogram.push(chunk); });
  const std::vector<KurtosisSpectrum> spectra = kurtogram.finish();
  const Interval within{kLowestBandHz, std::min(kHighestBandHz, 0.47 * take.sample_rate)};
  std::vector<ImpulsiveBand> bands = impulsive_bands(
      spectra, {.within_hz = within, .false_alarm = kBandFalseAlarm, .most = kMostBands});
  for (const KurtosisSpectrum& spectrum :
       std::span(spectra).first(std::min(kCovered, spectra.size())))
    for (const ImpulsiveBand& band : side_by_side(spectrum, within)) bands.push_back(band);
  return bands;
}

/// From samples to the envelope order spectrum of one band.
class BandOrders {
 public:
  BandOrders(const TakeAudio& take, const SpeedCurve& speed, const ImpulsiveBand& band)
      : band_(band),
        highest_order_(std::min(kHighestOrder,
                                0.9 * band.hertz.width() * 60.0 / speed_range(take).high.value)),
        envelope_(take.sample_rate, band.hertz),
        map_(speed, envelope_.output_rate(), order_parameters(highest_order_),
             [this](const OrderColumn& column) { add(column); }) {}

  void push(std::span<const float> samples) {
    analytic_.clear();
    envelope_.push(samples, analytic_);
    pass_on();
  }

  EnvelopeOrders finish() {
    analytic_.clear();
    envelope_.finish(analytic_);
    pass_on();
    map_.finish();
    EnvelopeOrders result;
    result.band = band_;
    result.highest_order = highest_order_;
    result.shape = {.spacing = map_.spacing(),
                    .window = WindowKind::hann,
                    .noise_bandwidth_bins = 1.5,
                    .effective_averages = averages(),
                    .power = shape_};
    result.swing = swing_;
    for (double& p : result.shape.power) p /= static_cast<double>(columns_);
    for (double& p : result.swing) p /= static_cast<double>(columns_);
    return result;
  }

 private:
  void pass_on() {
    power_.clear();
    for (const std::complex<float>& z : analytic_) power_.push_back(std::norm(z));
    map_.push(power_);
  }

  void add(const OrderColumn& column) {
    const auto mean_square = static_cast<double>(column.power[0]);  // of the constant part
    if (!(mean_square > 0.0)) return;
    const auto top = static_cast<std::ptrdiff_t>(highest_order_ / map_.spacing());
    scratch_.assign(column.power.begin() + 8,
                    column.power.begin() + std::max<std::ptrdiff_t>(9, top));
    const double typical = median(scratch_);
    if (!(typical > 0.0)) return;
    shape_.resize(column.power.size());
    swing_.resize(column.power.size());
    for (std::size_t k = 0; k < column.power.size(); ++k) {
      const auto power = static_cast<double>(column.power[k]);
      shape_[k] += power / typical;
      swing_[k] += power / mean_square;
    }
    ++columns_;
  }

  /// Of Hann blocks with this overlap; it does not depend on how finely they are sampled.
  double averages() const {
    constexpr std::size_t samples = 1024;
    const auto hop = static_cast<std::size_t>(static_cast<double>(samples) * kHop / kBlock);
    return effective_averages(make_window(WindowKind::hann, samples), hop, columns_);
  }

  ImpulsiveBand band_;
  double highest_order_;
  BandEnvelope envelope_;
  OrderMap map_;
  std::vector<std::complex<float>> analytic_;
  std::vector<float> power_;
  std::vector<double> scratch_;
  std::vector<double> shape_;
  std::vector<double> swing_;
  std::size_t columns_ = 0;
};

}  // namespace

TakeEnvelopes take_envelopes(const TakeAudio& take) {
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  TakeEnvelopes result;
  if (turns < kLeastRevolutions) return result;
  result.grid = engine_grid(take);
  const SpeedCurve& speed = result.grid->speed;
  std::vector<std::unique_ptr<BandOrders>> bands;
  for (const ImpulsiveBand& band : bands_to_look_at(take, speed))
    bands.push_back(std::make_unique<BandOrders>(take, speed, band));
  if (bands.empty()) return result;
  take.stream([&](std::span<const float> chunk) {
    for (const auto& band : bands) band->push(chunk);
  });
  for (const auto& band : bands) {
    EnvelopeOrders orders = band->finish();
    if (!orders.shape.power.empty()) result.bands.push_back(std::move(orders));
  }
  return result;
}

}  // namespace howl
