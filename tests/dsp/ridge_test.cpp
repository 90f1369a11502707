#include "dsp/ridge.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

using namespace howl;

namespace {

RidgePoint peak(double time, double hz, double power = 1.0) {
  return {time, hz, 0.0005 * hz, power, 1e-6, 20.0};
}

/// Frames every 0.1 s for 10 s with the tones' pitches at each time.
template <class... Tones>
std::vector<PeakFrame> frames(const Tones&... tones) {
  std::vector<PeakFrame> all;
  for (int i = 0; i < 100; ++i) {
    const double t = 0.1 * i;
    all.push_back({t, {peak(t, tones(t))...}});
  }
  return all;
}

}  // namespace

TEST_CASE("two tones that cross are followed through the crossing") {
  RidgeParameters parameters;
  parameters.slope_high = 0.1;
  const auto rising = [](double t) { return 300.0 * std::exp(0.1 * t); };  // 300 … 815 Hz
  const auto standing = [](double) { return 500.0; };
  const auto ridges = link_ridges(frames(rising, standing), parameters);
  REQUIRE(ridges.size() == 2);
  for (const Ridge& ridge : ridges) {
    const double first = ridge.points.front().frequency;
    for (const RidgePoint& p : ridge.points) {
      const double truth = first < 400.0 ? rising(p.time) : 500.0;
      CHECK(p.frequency == doctest::Approx(truth).epsilon(0.01));
    }
  }
}

TEST_CASE("lines that begin to rise with the speed are not taken for one another") {
  // Orders 8 to 11, and a pitch that stands; the speed stands for 5 s, then rises and falls by 6 %
  // a frame: as much in one frame as the lines lie apart in two.
  std::vector<PeakFrame> all;
  std::vector<double> rpm;
  for (int i = 0; i < 40; ++i) {
    const int steps = i < 10 ? 0 : i < 25 ? i - 10 : 40 - i;
    rpm.push_back(900.0 * std::exp(0.06 * steps));
    PeakFrame frame{0.5 * i, {}, std::log(rpm.back())};
    for (const double order : {8.0, 9.0, 10.0, 11.0})
      frame.peaks.push_back(peak(frame.time, order * rpm.back() / 60.0));
    frame.peaks.push_back(peak(frame.time, 100.0));
    all.push_back(frame);
  }
  RidgeParameters parameters;
  parameters.slope_low = -0.12;
  parameters.slope_high = 0.12;
  parameters.longest_gap = 1.75;
  const auto ridges = link_ridges(all, parameters);
  REQUIRE(ridges.size() == 5);
  for (const Ridge& ridge : ridges) {
    REQUIRE(ridge.points.size() == all.size());
    const double first = ridge.points.front().frequency;
    for (std::size_t i = 0; i < all.size(); ++i)
      CHECK(ridge.points[i].frequency ==
            doctest::Approx(first < 110.0 ? 100.0 : first * rpm[i] / 900.0));
  }
}

TEST_CASE("a gap is bridged while it is short, and brief or scattered peaks are dropped") {
  RidgeParameters parameters;
  std::vector<PeakFrame> all = frames([](double) { return 440.0; });
  for (std::size_t i = 40; i < 43; ++i) all[i].peaks.clear();
  CHECK(link_ridges(all, parameters).size() == 1);
  for (std::size_t i = 40; i < 60; ++i) all[i].peaks.clear();
  CHECK(link_ridges(all, parameters).size() == 2);
  for (std::size_t i = 5; i < all.size(); ++i) all[i].peaks.clear();
  CHECK(link_ridges(all, parameters).empty());
  CHECK(link_ridges({}, parameters).empty());
}

TEST_CASE("a ridge that hops from order to order is cut where it hops") {
  Ridge ridge;
  std::vector<double> log_speed;
  for (int i = 0; i < 60; ++i) {
    const double t = 0.1 * i;
    const double order = i < 20 ? 10.0 : i < 40 ? 9.5 : 9.0;
    const double rpm = 1000.0 * std::exp(0.1 * t);
    ridge.points.push_back(peak(t, order * rpm / 60.0));
    log_speed.push_back(std::log(rpm));
  }
  const auto pieces = split_at_hops(ridge, log_speed);
  REQUIRE(pieces.size() == 3);
  CHECK(pieces[0].points.size() == 20);
  Ridge standing;
  for (int i = 0; i < 60; ++i) standing.points.push_back(peak(0.1 * i, 500.0));
  CHECK(split_at_hops(standing, log_speed).size() == 1);
}
