#include "src/report/text_columns.h"

#include <doctest/doctest.h>

namespace howl {
namespace {

TEST_CASE("Display width counts columns, not bytes") {
  CHECK(display_width("oil") == 3);
  CHECK(display_width("Öl …") == 4);
  CHECK(display_width("e\u0301") == 1);   // e and a combining acute accent
  CHECK(display_width("油圧") == 4);      // East Asian wide
  CHECK(display_width("\xff\xfe") == 2);  // not UTF-8: one column a byte
  CHECK(display_width("\xc3") == 1);      // cut off in the middle of a character
}

TEST_CASE("Printable text holds no control characters and only valid UTF-8") {
  CHECK(printable("a\x1b[2Jb\nc") == "a?[2Jb?c");
  CHECK(printable("\u202Eabc") == "?abc");  // right-to-left override
  CHECK(printable("\xc3(") == "?(");
  CHECK(printable("\xed\xa0\x80") == "???");  // a surrogate, which UTF-8 must not hold
  CHECK(printable("Öl") == "Öl");
}

TEST_CASE("Shortened text says that it was cut") {
  CHECK(shortened("steering", 8) == "steering");
  CHECK(shortened("steering pump", 8) == "steerin…");
  CHECK(shortened("油圧油圧", 5) == "油圧…");
}

TEST_CASE("Text wraps at spaces, and a long word stays whole") {
  CHECK(wrapped("one two three", 0, 7) == "one two\nthree\n");
  CHECK(wrapped("one two", 2, 5) == "  one\n  two\n");
  CHECK(wrapped("incomprehensibilities is", 0, 6) == "incomprehensibilities\nis\n");
  CHECK(wrapped("", 0, 10) == "\n");
}

TEST_CASE("Columns align by width, whatever the letters") {
  TextColumns table({{.heading = "point"}, {.heading = "dB", .align = TextColumns::Align::right}});
  table.add({"Öl", "-3.0"});
  table.add({"pan", "-12.5"});
  CHECK(table.text() ==
        "  point     dB\n"
        "  Öl      -3.0\n"
        "  pan    -12.5\n");
}

TEST_CASE("A cell that is too long goes on below") {
  TextColumns table({{.heading = "a", .widest = 8}, {.heading = "b"}}, 0);
  table.add({"steering pump", "x"});
  CHECK(table.text() ==
        "a         b\n"
        "steering  x\n"
        "pump\n");
}

}  // namespace
}  // namespace howl
