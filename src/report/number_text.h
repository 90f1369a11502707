#pragma once

#include <optional>
#include <string>

#include "dsp/statistics.h"
#include "src/analysis/analysis.h"

namespace howl {

/// Numbers as people read them; always with a decimal point, whatever the locale. The unit comes
/// from the caller unless it is in the result.

/// "320 … 380"; one number where both ends read alike. A number that is not finite reads "-".
std::string span_text(const Interval& span, int decimals);
/// "-43.1", or "≤ -43.1" where it is an upper bound; "-" if unknown.
std::string level_text(const RankedPoint& point);
/// "11.00 ±0.02": the order and the farther end of its 95 % interval, rounded up; "-" if unknown.
std::string order_text(const ToneResult& tone);
/// "320 … 380 Hz", "orders 9.50 … 10.50"
std::string band_text(const AnalysisRequest::Band& band);
std::string fixed_text(double value, int decimals);
std::string fixed_text(const std::optional<double>& value, int decimals);

}  // namespace howl
