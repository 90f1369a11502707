#include "src/analysis/envelope_orders.h"

#include <algorithm>
#include <complex>
#include <memory>
#include <optional>
#include <utility>

#include "dsp/band_envelope.h"
#include "dsp/order_map.h"

namespace howl {

namespace {

constexpr double kLowestBandHz = 400.0;     // below, single combustion orders fill the bands
constexpr double kHighestOrder = 60.0;      // of the envelope
constexpr double kHighestGridOrder = 20.0;  // of the sound itself
constexpr double kBlock = 32.0;             // revolutions
constexpr double kHop = 8.0;
constexpr double kLeastRevolutions = 48.0;
constexpr double kBandFalseAlarm = 0.01;
constexpr std::size_t kMostBands = 3;

OrderMapParameters order_parameters(double highest) {
  return {.highest_order = highest, .revolutions = kBlock, .hop_revolutions = kHop};
}

struct FirstPass {
  std::vector<ImpulsiveBand> bands;
  PowerSpectrum orders;
};

FirstPass first_pass(const TakeAudio& take) {
  Kurtogram kurtogram(take.sample_rate, {});
  OrderSpectrum orders(take.speed, take.sample_rate, order_parameters(kHighestGridOrder));
  take.stream([&](std::span<const float> chunk) {
    kurtogram.push(chunk);
    orders.push(chunk);
  });
  const ImpulsiveBandParameters parameters{.within_hz = {kLowestBandHz, 0.47 * take.sample_rate},
                                           .false_alarm = kBandFalseAlarm,
                                           .most = kMostBands};
  return {impulsive_bands(kurtogram.finish(), parameters), orders.finish()};
}

/// From samples to the envelope order spectrum of one band.
class BandOrders {
 public:
  BandOrders(const TakeAudio& take, const ImpulsiveBand& band)
      : band_(band),
        envelope_(take.sample_rate, band.hertz),
        map_(take.speed, envelope_.output_rate(), order_parameters(kHighestOrder),
             [this](const OrderColumn& column) { add(column); }) {}

  void push(std::span<const float> samples) {
    analytic_.clear();
    envelope_.push(samples, analytic_);
    pass_on();
  }

  EnvelopeOrders finish(double fastest_rpm) {
    analytic_.clear();
    envelope_.finish(analytic_);
    pass_on();
    map_.finish();
    EnvelopeOrders result;
    result.band = band_;
    result.highest_order = std::min(kHighestOrder, 0.9 * band_.hertz.width() * 60.0 / fastest_rpm);
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
    for (const std::complex<double>& z : analytic_)
      power_.push_back(static_cast<float>(std::norm(z)));
    map_.push(power_);
  }

  void add(const OrderColumn& column) {
    const auto mean_square = static_cast<double>(column.power[0]);  // of the constant part
    if (!(mean_square > 0.0)) return;
    scratch_.assign(column.power.begin() + 8, column.power.end());
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
  BandEnvelope envelope_;
  OrderMap map_;
  std::vector<std::complex<double>> analytic_;
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
  const FirstPass first = first_pass(take);
  result.grid = engine_grid(first.orders, speed_sigma(take));
  if (first.bands.empty()) return result;
  std::vector<std::unique_ptr<BandOrders>> bands;
  for (const ImpulsiveBand& band : first.bands)
    bands.push_back(std::make_unique<BandOrders>(take, band));
  take.stream([&](std::span<const float> chunk) {
    for (const auto& band : bands) band->push(chunk);
  });
  const double fastest = speed_range(take).high.value;
  for (const auto& band : bands) {
    EnvelopeOrders orders = band->finish(fastest);
    if (!orders.shape.power.empty()) result.bands.push_back(std::move(orders));
  }
  return result;
}

}  // namespace howl
