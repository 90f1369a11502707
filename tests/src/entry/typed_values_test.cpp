#include "src/entry/typed_values.h"

#include <doctest/doctest.h>

#include <string>

#include "src/errors.h"

namespace howl {
namespace {

/// What the refusal says; fails where nothing is refused.
template <class Parse>
std::string refusal(Parse parse) {
  try {
    parse();
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::command);
    return error.what();
  }
  FAIL("nothing was refused");
  return {};
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

TEST_CASE("Numbers as a user types them") {
  CHECK(number_of("1800.5", "--rpm") == 1800.5);
  CHECK(number_of(" +2 ", "--rpm") == 2.0);
  CHECK(number_of("1e3", "--rpm") == 1000.0);
  for (const auto* text : {"", " ", "abc", "12abc", "nan", "inf", "0x10", "1 800"}) {
    CAPTURE(text);
    CHECK(holds(refusal([&] { number_of(text, "--rpm"); }), "not a number"));
  }
}

TEST_CASE("A decimal comma is explained") {
  const std::string text = refusal([] { number_of("1800,5", "--rpm"); });
  CHECK(holds(text, "--rpm 1800,5"));
  CHECK(holds(text, "a point, not a comma"));
}

TEST_CASE("A comma that may part thousands is not read as a decimal one") {
  const std::string text = refusal([] { number_of("1,800", "--rpm"); });
  CHECK(holds(text, "write 1800 without it"));
  for (const auto* decimal : {"0,800", "1800,500", "1,80", "12,3456"}) {
    CAPTURE(decimal);
    CHECK(holds(refusal([&] { number_of(decimal, "--rpm"); }), "a point, not a comma"));
  }
}

TEST_CASE("An engine that runs or is cranked turns 100 times a minute or more") {
  CHECK(held_rpm_of("250", "--rpm").value == 250.0);
  CHECK(holds(refusal([] { held_rpm_of("1.8", "--rpm"); }), "no engine runs below 100 rpm"));
  CHECK(holds(refusal([] { held_rpm_of("0", "--rpm"); }), "above 0"));
}

TEST_CASE("Engine speed is above 0 and no faster than engines turn") {
  CHECK(rpm_of("30000", "--rpm").value == 30000.0);
  for (const auto* text : {"0", "-1", "30001"}) {
    CAPTURE(text);
    CHECK(holds(refusal([&] { rpm_of(text, "--rpm"); }), "--rpm " + std::string(text)));
  }
}

TEST_CASE("A ramp is points in rising time") {
  const auto ramp = ramp_of("0:800, 12.5:3000,20:900", "--rpm-ramp");
  REQUIRE(ramp.size() == 3);
  CHECK(ramp[1].time.value == 12.5);
  CHECK(ramp[2].speed.value == 900.0);
  CHECK(holds(refusal([] { ramp_of("0:800,0:900", "--rpm-ramp"); }), "must rise"));
  CHECK(holds(refusal([] { ramp_of("5:800,4:900", "--rpm-ramp"); }), "must rise"));
  CHECK(holds(refusal([] { ramp_of("0:800", "--rpm-ramp"); }), "two points"));
  CHECK(holds(refusal([] { ramp_of("800,900", "--rpm-ramp"); }), "TIME:RPM"));
  CHECK(holds(refusal([] { ramp_of("-1:800,2:900", "--rpm-ramp"); }), "negative"));
  CHECK(holds(refusal([] { ramp_of("0:0,2:900", "--rpm-ramp"); }), "above 0"));
  CHECK(holds(refusal([] { ramp_of("0:800,", "--rpm-ramp"); }), "TIME:RPM"));
}

TEST_CASE("A band rises") {
  CHECK(range_of("300:400.5", "--band") == Interval{300.0, 400.5});
  CHECK(holds(refusal([] { range_of("400:300", "--band"); }), "write --band 300:400"));
  CHECK(holds(refusal([] { range_of("300:300", "--band"); }), "empty"));
  CHECK(holds(refusal([] { range_of("300", "--band"); }), "LOW:HIGH"));
  CHECK(holds(refusal([] { range_of("0:300", "--band"); }), "above 0"));
}

TEST_CASE("Loads are pairs; the value may hold an equals sign") {
  CHECK(key_value_of("ac=on", "--load") == std::pair<std::string, std::string>("ac", "on"));
  CHECK(key_value_of("note=a=b", "--load").second == "a=b");
  for (const auto* text : {"ac", "=on", "ac=", " = "}) {
    CAPTURE(text);
    CHECK(holds(refusal([&] { key_value_of(text, "--load"); }), "KEY=VALUE"));
  }
}

TEST_CASE("Channels are whole numbers from 1") {
  CHECK(channel_of("2", "--channel") == 2);
  for (const auto* text : {"0", "-1", "1.5", "left", "", "99999999999"}) {
    CAPTURE(text);
    CHECK(holds(refusal([&] { channel_of(text, "--channel"); }), "from 1"));
  }
}

}  // namespace
}  // namespace howl
