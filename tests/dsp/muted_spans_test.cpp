#include "dsp/muted_spans.h"

#include <doctest/doctest.h>

#include <span>
#include <vector>

using namespace howl;

TEST_CASE("muted spans are silent, fade for 10 ms beside, and leave the rest") {
  constexpr double rate = 1000.0;
  const TimeSpans spans{{0.0, 0.1}, {0.5, 0.6}};
  std::vector<float> whole(1000, 1.0F);
  mute_spans(whole, 0, rate, spans);
  CHECK(whole[0] == 0.0F);
  CHECK(whole[100] == 0.0F);
  CHECK(whole[105] == doctest::Approx(0.5));  // half of the fade
  CHECK(whole[110] == 1.0F);
  CHECK(whole[490] == 1.0F);
  CHECK(whole[495] == doctest::Approx(0.5));
  CHECK(whole[500] == 0.0F);
  CHECK(whole[600] == 0.0F);
  CHECK(whole[610] == 1.0F);
  std::vector<float> pieces(1000, 1.0F);
  for (std::size_t from = 0; from < pieces.size(); from += 8)
    mute_spans(std::span(pieces).subspan(from, 8), static_cast<std::int64_t>(from), rate, spans);
  CHECK(pieces == whole);
}
