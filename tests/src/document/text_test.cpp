#include "src/document/text.h"

#include <doctest/doctest.h>

#include "src/report/take_list.h"

namespace howl::document {
namespace {

using Lines = std::vector<std::string>;

TEST_CASE("A text is shown in its own lines, without what could act on anything") {
  CHECK(text_lines("") == Lines{""});
  CHECK(text_lines("one") == Lines{"one"});
  CHECK(text_lines("one\ntwo\r\nthree\rfour\n\n") == Lines{"one", "two", "three", "four"});
  CHECK(text_lines("a\n\nb") == Lines{"a", "", "b"});
  CHECK(text_lines("bell\a tab\t end") == Lines{"bell  tab  end"});
  // U+202E turns the text after it: "exe.png" would read "gnp.exe".
  CHECK(text_lines("\u202Egnp.exe\u202C") == Lines{"\uFFFDgnp.exe\uFFFD"});
  CHECK(text_lines("\u2028next\u2029") == Lines{" next "});
  CHECK(text_lines("no character: \uFFFE") == Lines{"no character: \uFFFD"});
  CHECK(text_lines("not UTF-8: \xC3(") == Lines{"not UTF-8: \uFFFD("});
  CHECK(text_lines("שלום 漢字") == Lines{"שלום 漢字"});
}

TEST_CASE("No line ends between a number and its unit") {
  const auto gaps = [](std::string_view text) {
    std::vector<std::pair<std::size_t, std::size_t>> places;
    for (const UnitGap& gap : unit_gaps(text)) places.emplace_back(gap.space, gap.unit_end);
    return places;
  };
  using Places = std::vector<std::pair<std::size_t, std::size_t>>;
  CHECK(gaps("43 % or 5.6 dB") == Places{{2, 4}, {11, 14}});
  CHECK(gaps("800 rpm, 2 kHz") == Places{{3, 7}, {10, 14}});
  CHECK(gaps("of 3 points % of dB ").empty());
  CHECK(gaps(" %").empty());
}

TEST_CASE("Takes in a row are listed together") {
  CHECK(take_list(Lines{}) == "-");
  CHECK(take_list(Lines{"t01"}) == "t01");
  CHECK(take_list(Lines{"t01", "t02"}) == "t01, t02");
  CHECK(take_list(Lines{"t01", "t02", "t03"}) == "t01 to t03");
  CHECK(take_list(Lines{"t01", "t03", "t04", "t05", "t07"}) == "t01, t03 to t05, t07");
  CHECK(take_list(Lines{"t09", "t10", "t11"}) == "t09 to t11");
  CHECK(take_list(Lines{"before", "t01x", "t"}) == "before, t01x, t");
}

}  // namespace
}  // namespace howl::document
