#include "src/analysis/envelope_orders.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <utility>

#include "dsp/band_envelope.h"
#include "dsp/noise_floor.h"
#include "dsp/order_map.h"
#include "src/analysis/tonal_beats.h"

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
constexpr std::size_t kLeastColumns = 3;  // blocks in as many revolutions
constexpr double kBandFalseAlarm = 0.01;
constexpr std::size_t kMostBands = 4;
constexpr double kFloorWidth = 3.0;      // orders about a line whose median is its floor
constexpr double kHighestTone = 1200.0;  // orders of the sound: 12 kHz at 600 rpm

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

/// Amplitude gain of a band's filter over frequency, read once; 0 where it lets nothing through.
class BandGain {
 public:
  BandGain(const BandEnvelope& envelope, const Interval& band)
      : low_(band.low - kBeyond * band.width()),
        step_((1.0 + 2.0 * kBeyond) * band.width() / kSteps) {
    for (std::size_t i = 0; i <= kSteps; ++i)
      gains_.push_back(envelope.gain(low_ + step_ * static_cast<double>(i)));
  }

  double at(double hertz) const {
    const double place = (hertz - low_) / step_;
    if (place < 0.0 || place >= kSteps) return 0.0;
    const auto cell = static_cast<std::size_t>(place);
    return std::lerp(gains_[cell], gains_[cell + 1], place - static_cast<double>(cell));
  }

  Interval passes() const { return {low_, low_ + step_ * kSteps}; }

 private:
  static constexpr double kBeyond = 0.15;  // of the width, where the filter's stop band begins
  static constexpr std::size_t kSteps = 130;

  double low_;
  double step_;
  std::vector<double> gains_;
};

/// From samples to the envelope order spectrum of one band. Each block of the sound's own order map
/// is to be told, by expect(), before the same block of the envelope comes.
class BandOrders {
 public:
  BandOrders(const TakeAudio& take, const SpeedCurve& speed, const ImpulsiveBand& band)
      : band_(band),
        left_out_(take.left_out),
        highest_order_(std::min(kHighestOrder,
                                0.9 * band.hertz.width() * 60.0 / speed_range(take).high.value)),
        envelope_(take.sample_rate, band.hertz),
        gain_(envelope_, band.hertz),
        map_(speed, envelope_.output_rate(), order_parameters(highest_order_),
             [this](const OrderColumn& column) { add(column); }) {}

  std::size_t lines() const {
    return static_cast<std::size_t>(highest_order_ / map_.spacing()) + 1;
  }

  /// What the tones of the next block do. `speeds` are those that the block goes through.
  void expect(const BlockTones& tones, std::span<const double> speeds) {
    const auto [slowest, fastest] = std::minmax_element(speeds.begin(), speeds.end());
    const Interval orders{60.0 * gain_.passes().low / *fastest,
                          60.0 * gain_.passes().high / *slowest};
    expected_.push_back(tones.beats(
        orders,
        [&](double order) {
          double most = 0.0;
          for (const double rpm : speeds) most = std::max(most, gain_.at(order * rpm / 60.0));
          return most;
        },
        lines()));
  }

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
    if (columns_ < kLeastColumns) return result;
    result.band = band_;
    result.highest_order = highest_order_;
    result.shape = {.spacing = map_.spacing(),
                    .window = WindowKind::hann,
                    .noise_bandwidth_bins = 1.5,
                    .effective_averages = averages(),
                    .power = shape_};
    result.swing = swing_;
    result.beats = beats_;
    for (double& p : result.shape.power) p /= static_cast<double>(columns_);
    result.floor = noise_floor(result.shape, kFloorWidth);
    for (double& p : result.swing) p /= static_cast<double>(columns_);
    for (double& p : result.beats) p /= static_cast<double>(columns_);
    return result;
  }

 private:
  void pass_on() {
    power_.clear();
    for (const std::complex<float>& z : analytic_) power_.push_back(std::norm(z));
    map_.push(power_);
  }

  std::vector<double> next_expected() {
    if (expected_.empty()) return std::vector<double>(lines());
    std::vector<double> next = std::move(expected_.front());
    expected_.pop_front();
    return next;
  }

  void add(const OrderColumn& column) {
    const std::vector<double> expected = next_expected();
    const double half = 30.0 * column.revolutions_per_block / column.speed.value;
    if (reaches_into(left_out_, column.time.value - half, column.time.value + half)) return;
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
    beats_.resize(column.power.size());
    for (std::size_t k = 0; k < std::min(beats_.size(), expected.size()); ++k)
      beats_[k] += expected[k] / typical;
    ++columns_;
  }

  /// Of Hann blocks with this overlap; it does not depend on how finely they are sampled.
  double averages() const {
    constexpr std::size_t samples = 1024;
    const auto hop = static_cast<std::size_t>(static_cast<double>(samples) * kHop / kBlock);
    return effective_averages(make_window(WindowKind::hann, samples), hop, columns_);
  }

  ImpulsiveBand band_;
  TimeSpans left_out_;
  double highest_order_;
  BandEnvelope envelope_;
  BandGain gain_;
  OrderMap map_;
  std::vector<std::complex<float>> analytic_;
  std::vector<float> power_;
  std::vector<double> scratch_;
  std::vector<double> shape_;
  std::vector<double> swing_;
  std::vector<double> beats_;
  std::deque<std::vector<double>> expected_;
  std::size_t columns_ = 0;
};

using Bands = std::vector<std::unique_ptr<BandOrders>>;

/// The map of the sound itself, block by block as its envelopes', told to all bands.
OrderMap map_of_tones(const TakeAudio& take, const EngineGrid& grid, const Bands& bands) {
  const double slowest = std::max(1.0, speed_range(take).low.value);
  const double top_hz = std::min(1.1 * kHighestBandHz, 0.5 * take.sample_rate);
  return {grid.speed, take.sample_rate,
          order_parameters(std::min(kHighestTone, top_hz * 60.0 / slowest)),
          [&grid, &bands](const OrderColumn& column) {
            const double half = 30.0 * column.revolutions_per_block / column.speed.value;
            const auto rpm_at = [&](double away) {
              return grid.speed.at(Seconds(column.time.value + away)).value;
            };
            const std::array speeds{rpm_at(-half), rpm_at(0.0), rpm_at(half)};
            const BlockTones tones(column.power, 1.0 / column.revolutions_per_block, grid.smear);
            for (const auto& band : bands) band->expect(tones, speeds);
          }};
}

}  // namespace

TakeEnvelopes take_envelopes(const TakeAudio& take) {
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  TakeEnvelopes result;
  if (turns < kLeastRevolutions) return result;
  result.grid = engine_grid(take);
  const SpeedCurve& speed = result.grid->speed;
  Bands bands;
  for (const ImpulsiveBand& band : bands_to_look_at(take, speed))
    bands.push_back(std::make_unique<BandOrders>(take, speed, band));
  if (bands.empty()) return result;
  OrderMap tones = map_of_tones(take, *result.grid, bands);
  take.stream([&](std::span<const float> chunk) {
    tones.push(chunk);
    for (const auto& band : bands) band->push(chunk);
  });
  tones.finish();
  for (const auto& band : bands) {
    EnvelopeOrders orders = band->finish();
    if (!orders.shape.power.empty()) result.bands.push_back(std::move(orders));
  }
  return result;
}

}  // namespace howl
