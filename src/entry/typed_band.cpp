#include "src/entry/typed_band.h"

#include "src/entry/typed_values.h"
#include "src/errors.h"

namespace howl {

AnalysisRequest band_request(const TypedBand& typed) {
  using Band = AnalysisRequest::Band;
  if (typed.hertz && typed.orders)
    throw Error(Fault::command, "--band and --orders", "both were given",
                "give the band in Hz or in orders, not in both");
  if (typed.hertz) return {Band{Band::Unit::hertz, range_of(*typed.hertz, "--band")}};
  if (typed.orders) return {Band{Band::Unit::order, range_of(*typed.orders, "--orders")}};
  return {};
}

}  // namespace howl
