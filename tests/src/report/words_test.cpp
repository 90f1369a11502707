#include "src/report/words.h"

#include <doctest/doctest.h>

#include "dsp/statistics.h"

using namespace howl;
using namespace howl::picture;

namespace {

/// One unit for each character of well-formed UTF-8.
double count_characters(std::string_view text) {
  double count = 0;
  for (const char c : text) count += (static_cast<unsigned char>(c) & 0xC0U) != 0x80 ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("good UTF-8 passes, bad bytes and controls do not") {
  CHECK(printable("Öl · 10 µm — 油 😀") == "Öl · 10 µm — 油 😀");
  CHECK(printable("a\tb\nc\x7F") == "a b c ");
  CHECK(printable("\xC2\x85") == " ");  // a C1 control
  CHECK(printable("\xFF") == "\uFFFD");
  CHECK(printable("\xC3") == "\uFFFD");                      // cut short
  CHECK(printable("\xC0\xAF") == "\uFFFD\uFFFD");            // overlong (RFC 3629 §3)
  CHECK(printable("\xED\xA0\x80") == "\uFFFD\uFFFD\uFFFD");  // a surrogate (RFC 3629 §3)
  CHECK(printable(std::string_view("a\0b", 3)) == "a b");
}

TEST_CASE("whatever the bytes, the result is its own printable form") {
  Random random(6);
  for (int round = 0; round < 2000; ++round) {
    std::string bytes(draw_index(random, 20), ' ');
    for (char& c : bytes) c = static_cast<char>(draw_index(random, 256));
    const std::string clean = printable(bytes);
    CHECK(printable(clean) == clean);
  }
}

TEST_CASE("elided text fits and keeps whole characters") {
  CHECK(elided("alternator", 10, count_characters) == "alternator");
  CHECK(elided("alternator", 9, count_characters) == "alternat…");
  CHECK(elided("Öölüftung", 4, count_characters) == "Ööl…");
  CHECK(elided("to the left", 4, count_characters) == "to…");  // no space before the dots
  CHECK(elided("ab", 1, count_characters) == "…");
  CHECK(elided("ab", 0.5, count_characters).empty());
}

TEST_CASE("wrapped lines fit, break at spaces, and the last says that there is more") {
  const auto lines = wrapped("order ten of the pump", 9, 5, count_characters);
  CHECK(lines == std::vector<std::string>{"order ten", "of the", "pump"});
  CHECK(wrapped("order ten of the pump", 9, 2, count_characters) ==
        std::vector<std::string>{"order ten", "of the p…"});
  CHECK(wrapped("overlongword", 5, 9, count_characters) ==
        std::vector<std::string>{"overl", "ongwo", "rd"});
  CHECK(wrapped("   ", 5, 2, count_characters).empty());
  CHECK(wrapped("abc", 0.5, 2, count_characters).size() <= 2);
}
