#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "dsp/order_filter.h"
#include "src/analysis/analyse.h"
#include "src/case/case.h"

namespace howl {

/// Which tones of a take to tell apart from everything else, and from each other.
struct IsolateRequest {
  std::vector<Order> orders;
  std::vector<Hertz> pitches;  ///< fixed ones
  /// Default: wide enough for what the speed may be wrong by, two standard deviations to either
  /// side; no less than 2 % of the frequency, nor than 2 Hz.
  std::optional<FilterWidth> width;
  int poles{2};
};

struct IsolatedPiece {
  FilteredPiece found;
  std::span<const float> take;  ///< the same samples of the take itself
};

/// Tones of a take, ready to be followed (dsp/order_filter.h): orders first, in the order in which
/// they were asked for. Where the speed is not known (without_speed) no order is taken out: its
/// waveform and its envelope are 0 there, and a warning says where. Within 1/width of such time its
/// level falls, as the filter hears one side only.
class TakeIsolation {
 public:
  /// `cylinders` of a four-stroke engine where known: they help to find the speed in the sound.
  /// Throws Error where the recording or its speed cannot be used (file fault), and where a tone
  /// leaves what the recording holds, the engine was off and orders are asked for, the take is too
  /// short for the width (less than 2/width), or tones cannot be told apart (command fault).
  TakeIsolation(const std::filesystem::path& folder, const Take& take, std::optional<int> cylinders,
                const IsolateRequest& request);

  /// Reads the take and gives away piece after piece. Memory stays bounded.
  void run(const std::function<void(const IsolatedPiece&)>& to, const Progress& progress) const;

  const std::vector<std::string>& names() const { return names_; }  ///< "order 9.5", "480 Hz"
  const std::vector<FollowedTone>& tones() const { return tones_; }
  /// None where the engine was off, or the speed is not known.
  std::optional<Rpm> speed_at(Seconds time) const;
  /// Of tone `k`; none where that needs a speed that is not known.
  std::optional<Hertz> frequency_at(std::size_t k, Seconds time) const;
  const OrderFilterParameters& parameters() const { return parameters_; }
  double sample_rate() const { return sample_rate_; }
  std::int64_t samples() const { return samples_; }
  /// Samples apart enough to describe an envelope.
  std::int64_t envelope_step() const;
  /// What had to be repaired in the record of the speed.
  const std::vector<std::string>& warnings() const { return warnings_; }

 private:
  OrderFilter filter(std::function<void(const FilteredPiece&)> to) const;
  void follow(const IsolateRequest& request);
  bool reaches_unknown(const FilteredPiece& found) const;
  std::vector<FilteredTone> where_known(const FilteredPiece& found) const;
  void require_audible() const;
  void require_length() const;
  Seconds length() const { return Seconds(static_cast<double>(samples_) / sample_rate_); }

  std::string id_;
  std::filesystem::path recording_;
  int channel_{};
  double sample_rate_{};
  std::int64_t samples_{};
  std::shared_ptr<const SpeedCurve> speed_;  // null where the engine was off
  TimeSpans unknown_;                        // where it is not known
  std::size_t orders_{};                     // the first of the tones
  std::vector<FollowedTone> tones_;
  std::vector<std::string> names_;
  OrderFilterParameters parameters_;
  std::vector<std::string> warnings_;
};

}  // namespace howl
