#include "dsp/pitch_law.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <vector>

using namespace howl;

namespace {

/// Holds with an exact speed (tacho-like) at the given rpm, pitch f(rpm).
template <class Function>
std::vector<PitchPoint> holds(const std::vector<double>& rpm, const Function& pitch,
                              double speed_sigma) {
  std::vector<PitchPoint> points;
  for (const double n : rpm) {
    PitchPoint p;
    p.rpm = n;
    p.frequency_hz = pitch(n);
    p.sigma_hz = 2e-4 * p.frequency_hz;
    p.speed_sigma = speed_sigma;
    p.take = points.size();
    points.push_back(p);
  }
  return points;
}

const std::vector<double> kSpeeds{800, 1200, 1600, 2000, 2500, 3000};

}  // namespace

TEST_CASE("a tone at a constant whole order is locked, and direct when the speed is known well") {
  const auto verdict = judge_pitch(holds(
      kSpeeds, [](double n) { return 11.0 * n / 60.0; }, 0.0005));
  CHECK(verdict.behaviour == Behaviour::speed_locked);
  CHECK(verdict.drive == Drive::direct);
  CHECK(verdict.order_ci95->contains(11.0));
  CHECK(verdict.exponent_ci95->contains(1.0));
  CHECK(*verdict.exponent == doctest::Approx(1.0).epsilon(0.005));
}

TEST_CASE("the same with a gauge read to half a per cent is locked, but not surely direct") {
  const auto verdict = judge_pitch(holds(
      kSpeeds, [](double n) { return 11.0 * n / 60.0; }, 0.005));
  CHECK(verdict.behaviour == Behaviour::speed_locked);
  CHECK(verdict.drive == Drive::unknown);
}

TEST_CASE("an order that drifts by a belt's slip is locked, drive belt") {
  double sign = 1.0;
  const auto slipping = [&](double n) {
    sign = -sign;
    return 12.0 * (1.0 - 0.012 - 0.006 * sign) * n / 60.0;  // 0.6 or 1.8 % slip
  };
  const auto verdict = judge_pitch(holds(kSpeeds, slipping, 0.0005));
  CHECK(verdict.behaviour == Behaviour::speed_locked);
  CHECK(verdict.drive == Drive::belt);
}

TEST_CASE("a pitch that stands still is fixed, one that goes with the root of speed is unlocked") {
  CHECK(judge_pitch(holds(
                        kSpeeds, [](double) { return 640.0; }, 0.003))
            .behaviour == Behaviour::fixed_pitch);
  const auto root = judge_pitch(holds(
      kSpeeds, [](double n) { return 20.0 * std::sqrt(n); }, 0.003));
  CHECK(root.behaviour == Behaviour::unlocked);
  CHECK(root.exponent_ci95->contains(0.5));
}

TEST_CASE("a short piece of a pitch shows that it moves slowly, not that it stands") {
  // Followed for so long through a sweep of 160 rpm/s, without moving.
  const auto followed_for = [](double seconds) {
    std::vector<PitchPoint> points;
    for (double t = 0.0; t <= seconds; t += 0.1) {
      PitchPoint p;
      p.time = t;
      p.rpm = 800.0 + 160.0 * t;
      p.frequency_hz = 400.0 * (1.0 + 3e-4 * std::cos(37.0 * t));
      p.sigma_hz = 0.2;
      p.speed_sigma = 0.002;
      p.speed_rate = 160.0 / p.rpm;
      points.push_back(p);
    }
    return judge_pitch(points).behaviour;
  };
  CHECK(followed_for(14.0) == Behaviour::fixed_pitch);
  CHECK(followed_for(5.0) == Behaviour::fixed_pitch);
  CHECK(followed_for(2.8) == Behaviour::undetermined);
  CHECK(followed_for(1.3) == Behaviour::undetermined);
}

TEST_CASE("a tone that follows the road in several gears is road-locked") {
  auto points = holds(
      kSpeeds, [](double n) { return n; }, 0.003);
  const std::vector<double> kmh{70, 40, 90, 55, 100, 65};
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].road_speed_kmh = kmh[i];
    points[i].frequency_hz = 6.0 * kmh[i];
    points[i].sigma_hz = 0.1;
  }
  CHECK(judge_pitch(points).behaviour == Behaviour::road_locked);
}

TEST_CASE("in one gear, road and engine cannot be told apart") {
  auto points = holds(
      kSpeeds, [](double n) { return 9.0 * n / 60.0; }, 0.003);
  for (PitchPoint& p : points) p.road_speed_kmh = p.rpm / 40.0;
  const auto verdict = judge_pitch(points);
  CHECK(verdict.behaviour == Behaviour::speed_locked);
  CHECK(verdict.drive == Drive::engine_or_road);
  CHECK(verdict.doubt == PitchDoubt::road_and_engine_together);
  CHECK(verdict.order_ci95->contains(9.0));
  const auto weight = [&](Law law) {
    return std::ranges::find(verdict.laws, law, &LawFit::law)->weight;
  };
  CHECK(weight(Law::road) > 0.2);
  CHECK(weight(Law::locked) + weight(Law::belt) > 0.2);
}

TEST_CASE("each law says where it lies, with its interval") {
  const auto verdict = judge_pitch(holds(
      kSpeeds, [](double n) { return 9.3 * n / 60.0; }, 0.003));
  const auto fit = [&](Law law) { return *std::ranges::find(verdict.laws, law, &LawFit::law); };
  for (const LawFit& each : verdict.laws) {
    CAPTURE(law_name(each.law));
    CHECK(each.frequency_ci95.low < each.frequency_hz);
    CHECK(each.frequency_hz < each.frequency_ci95.high);
    CHECK(each.exponent_ci95.has_value() == (each.law == Law::free));
  }
  // The order's interval is the same thing, at the reference.
  const LawFit heavier =
      fit(Law::locked).weight > fit(Law::belt).weight ? fit(Law::locked) : fit(Law::belt);
  CHECK(60 * heavier.frequency_ci95.low / heavier.reference_rpm ==
        doctest::Approx(verdict.order_ci95->low));
  CHECK(60 * heavier.frequency_ci95.high / heavier.reference_rpm ==
        doctest::Approx(verdict.order_ci95->high));
  CHECK(fit(Law::free).exponent_ci95->contains(1.0));
}

TEST_CASE("one more gear tells which of the two it was") {
  for (const bool road : {false, true}) {
    auto points = holds(
        kSpeeds, [](double n) { return 9.3 * n / 60.0; }, 0.003);
    for (PitchPoint& p : points) p.road_speed_kmh = p.rpm / 40.0;
    auto lower = holds(
        {1500, 2100}, [&](double n) { return (road ? 9.3 * 40.0 / 60.0 : 9.3) * n / 60.0; }, 0.003);
    for (PitchPoint& p : lower) {
      p.road_speed_kmh = p.rpm / 60.0;
      p.take += points.size();
      points.push_back(p);
    }
    const auto verdict = judge_pitch(points);
    CHECK(verdict.behaviour == (road ? Behaviour::road_locked : Behaviour::speed_locked));
    CHECK(verdict.drive != Drive::engine_or_road);
  }
}

TEST_CASE("a road speed that was not noted is taken for the gear's in which the others were") {
  auto points = holds(
      kSpeeds, [](double n) { return 9.3 * n / 60.0; }, 0.003);
  for (PitchPoint& p : points) p.road_speed_kmh = p.rpm / 40.0;
  auto more = holds(
      {1250, 2900}, [](double n) { return 9.3 * n / 60.0; }, 0.003);
  for (PitchPoint& p : more) {
    p.motion_unknown = true;
    p.take += points.size();
    points.push_back(p);
  }
  const auto verdict = judge_pitch(points);
  CHECK(verdict.behaviour == Behaviour::speed_locked);
  CHECK(verdict.drive == Drive::engine_or_road);
  CHECK(verdict.order_ci95->contains(9.3));
}

TEST_CASE("one steady speed, two speeds, or 10 % of change never settle anything") {
  const auto locked = [](double n) { return 10.0 * n / 60.0; };
  CHECK(judge_pitch(holds({1500}, locked, 0.003)).doubt == PitchDoubt::too_little_change);
  CHECK(judge_pitch(holds({1500, 1501, 1499, 1500}, locked, 0.003)).behaviour ==
        Behaviour::undetermined);
  CHECK(judge_pitch(holds({1000, 2000}, locked, 0.003)).doubt == PitchDoubt::too_few_points);
  CHECK(judge_pitch(holds({1000, 1050, 1100}, locked, 0.003)).doubt ==
        PitchDoubt::too_little_change);
}

TEST_CASE("no law is said that the takes could not have contradicted") {
  // Engine speed constant, road speed varied: a constant pitch may be fixed or locked.
  auto constant_engine = holds(
      {2000, 2000, 2000, 2000}, [](double) { return 500.0; }, 0.003);
  const std::vector<double> kmh{50, 70, 90, 110};
  for (std::size_t i = 0; i < constant_engine.size(); ++i)
    constant_engine[i].road_speed_kmh = kmh[i];
  CHECK(judge_pitch(constant_engine).behaviour == Behaviour::undetermined);
  // Road speed constant, gears varied: it may be fixed or road-locked.
  auto constant_road = holds(
      kSpeeds, [](double) { return 300.0; }, 0.003);
  for (PitchPoint& p : constant_road) p.road_speed_kmh = 60.0;
  CHECK(judge_pitch(constant_road).behaviour == Behaviour::undetermined);
}

TEST_CASE("while the vehicle may have moved unrecorded, a lock to the engine is not claimed") {
  auto points = holds(
      kSpeeds, [](double n) { return 9.0 * n / 60.0; }, 0.003);
  for (PitchPoint& p : points) p.motion_unknown = true;
  CHECK(judge_pitch(points).behaviour == Behaviour::undetermined);
}

TEST_CASE("values that are no numbers are passed over, and nothing at all is undetermined") {
  auto points = holds(
      kSpeeds, [](double) { return 640.0; }, 0.003);
  points[1].speed_rate = std::numeric_limits<double>::quiet_NaN();
  points[2].frequency_hz = std::numeric_limits<double>::infinity();
  const auto verdict = judge_pitch(points);
  CHECK(verdict.behaviour == Behaviour::fixed_pitch);
  CHECK(std::isfinite(*verdict.exponent));
  points[0].speed_sigma = std::numeric_limits<double>::infinity();
  CHECK(std::isfinite(judge_pitch(points).exponent.value_or(0.0)));
  CHECK(judge_pitch({}).doubt == PitchDoubt::too_few_points);
}

TEST_CASE("a wrong tone in one hold is not smoothed over") {
  auto points = holds(
      kSpeeds, [](double n) { return 10.0 * n / 60.0; }, 0.0005);
  points[3].frequency_hz *= 1.25;  // the neighbour's tone, by mistake
  CHECK(judge_pitch(points).behaviour != Behaviour::fixed_pitch);
  CHECK(judge_pitch(points).drive != Drive::direct);
}

TEST_CASE("two orders taken for one are covered by the interval, not averaged with confidence") {
  // Takes in turns at order 10 and 10.15 (1.5 % apart), each speed right: no error of 0.5 % makes
  // five takes agree on either side.
  bool other = false;
  const auto either = [&](double n) {
    other = !other;
    return (other ? 10.0 : 10.15) * n / 60.0;
  };
  const std::vector<double> speeds{900, 1000, 1200, 1300, 1600, 1700, 2000, 2100, 2500, 2600};
  const auto verdict = judge_pitch(holds(speeds, either, 0.005));
  CHECK(verdict.order_ci95->contains(10.0));
  CHECK(verdict.order_ci95->contains(10.15));
  CHECK(verdict.drive != Drive::direct);
  // One order is as sharp as before: 0.5 % over the root of ten, and half of it more for what
  // varies from station to station.
  const auto one = judge_pitch(holds(
      speeds, [](double n) { return 10.15 * n / 60.0; }, 0.005));
  CHECK(one.order_ci95->width() < 0.09);
  CHECK(one.order_ci95->contains(10.15));
}
