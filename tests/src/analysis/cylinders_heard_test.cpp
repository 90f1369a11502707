#include "src/analysis/cylinders_heard.h"

#include <doctest/doctest.h>

#include <map>

using namespace howl;

namespace {

std::vector<ToneResult> engine_lines(const std::map<double, double>& db_at_order) {
  std::vector<ToneResult> tones;
  for (const auto& [order, db] : db_at_order) {
    ToneResult tone;
    tone.behaviour = Behaviour::speed_locked;
    tone.drive = Drive::direct;
    tone.order = order;
    tone.level_db = tone.typical_level_db = db;
    tones.push_back(tone);
  }
  return tones;
}

/// As a six-cylinder engine was heard, with a pump at order 11.
const std::map<double, double> kSix{{1.5, -33.8},  {2.0, -39.3}, {3.0, -23.3}, {4.0, -39.0},
                                    {5.0, -33.6},  {6.0, -24.0}, {8.0, -43.5}, {9.0, -28.2},
                                    {11.0, -27.4}, {12.0, -31.0}};

}  // namespace

TEST_CASE("cylinders: six that fire are not taken for four") {
  const std::string doubt = doubt_of_cylinders(engine_lines(kSix), 4);
  CHECK(doubt.find("had 6 cylinders, not 4") != std::string::npos);
  CHECK(doubt.find("orders 3, 6 and 9 stand 11 dB") != std::string::npos);
  CHECK(doubt_of_cylinders(engine_lines(kSix), 6).empty());
  CHECK(doubt_of_cylinders(engine_lines(kSix), std::nullopt).empty());
}

TEST_CASE("cylinders: an uneven engine, or one of whose orders rings, is not doubted") {
  // Order 3 rings; 9 is no stronger than the firing orders about it.
  CHECK(doubt_of_cylinders(
            engine_lines({{2.0, -30.0}, {3.0, -22.0}, {4.0, -34.0}, {6.0, -36.0}, {9.0, -45.0}}), 4)
            .empty());
  // A probe that hears little of order 2, and 4 and 8 better than 6.
  CHECK(
      doubt_of_cylinders(
          engine_lines({{2.0, -45.0}, {4.0, -30.0}, {6.0, -38.0}, {8.0, -33.0}, {12.0, -37.0}}), 4)
          .empty());
  // What follows by a belt is no engine's.
  std::vector<ToneResult> belt = engine_lines(kSix);
  for (ToneResult& tone : belt) tone.drive = Drive::belt;
  CHECK(doubt_of_cylinders(belt, 4).empty());
}

TEST_CASE("cylinders: eight are known from four by the orders between") {
  const std::vector<ToneResult> eight = engine_lines(
      {{2.0, -45.0}, {4.0, -25.0}, {6.0, -47.0}, {8.0, -29.0}, {10.0, -48.0}, {12.0, -33.0}});
  CHECK(doubt_of_cylinders(eight, 4).find("had 8 cylinders, not 4") != std::string::npos);
}
