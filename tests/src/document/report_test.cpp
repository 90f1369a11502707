#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <regex>
#include <stdexcept>

#include "src/document/html_writer.h"
#include "src/document/pdf_writer.h"
#include "src/document/report_of.h"
#include "src/document/text.h"
#include "src/files/base64.h"
#include "src/files/sha256.h"
#include "src/handover/manifest.h"
#include "tests/src/document/small_case.h"

namespace howl::document {
namespace {

using test::ScratchFolder;

void quietly(double, std::string_view) {}

std::string without_blanks(std::string_view text) {
  std::string bare;
  for (const char c : text)
    if (static_cast<unsigned char>(c) > 0x20) bare += c;
  return bare;
}

/// What a program prints.
std::string printed_by(const std::string& command, const ScratchFolder& scratch) {
  const std::string out = (scratch / "printed").string();
  const int status = std::system((command + " >'" + out + "' 2>&1").c_str());
  INFO(command);
  REQUIRE(status == 0);
  return test::content_of(out);
}

/// Texts of the document that are not found, in their order, in `shown`.
std::vector<std::string> missing_from(std::string_view shown,
                                      const std::vector<std::string>& texts) {
  const std::string bare = without_blanks(shown);
  std::vector<std::string> missing;
  std::size_t at = 0;
  for (const std::string& text : texts) {
    std::string wanted;
    for (const std::string& line : text_lines(text)) wanted += without_blanks(line);
    const std::size_t found = bare.find(wanted, at);
    if (found == std::string::npos)
      missing.push_back(text);
    else
      at = found + wanted.size();
  }
  return missing;
}

/// A line breaks at a page's end, where the foot stands between its words.
std::string without_feet(std::string pdf_text, const Document& document) {
  const std::regex foot("[^\n]*" + document.program + " *page [0-9]+ of [0-9]+");
  return std::regex_replace(pdf_text, foot, "");
}

Document report_of_small_case(const ScratchFolder& scratch) {
  return report_of(test::small_case(scratch, "whine"), {}, quietly);
}

const std::string hostile =
    "<script>alert(1)</script> \"><img src=x onerror=alert(2)> &amp; ]]> </template> -->";

/// Every kind of block, with the user's text in each.
Document hostile_document(const std::string& text) {
  Document document{text, text, text, text, "howlpoint 0.0.0", {}, {}};
  Table table{
      text, {{text}, {text, Align::right}, {text, Align::left, true}}, {{text, text, text}}, text};
  RankingPicture ranking;
  ranking.title = text;
  ranking.subtitle = text;
  ranking.bars = {{text, -20.0, Interval{-21.0, -19.0}, 0.9, text, {text}}};
  SketchPicture sketch;
  sketch.title = text;
  sketch.views = {
      {text, text, 0.55, {{text, {{0, 0}, {1, 0}, {1, 1}}}}, {{text, text, {0.5, 0.5}, 0.0}}}};
  document.sections = {{"one",
                        text,
                        {Paragraph{text}, Heading{text}, Bullets{{text, text}, Emphasis::warning},
                         Facts{{{text, text}}}, table, Figure{text, text, ranking, {text}, table},
                         Figure{text, text, sketch, {}, {}, true}, Clip{text, text, "RIFF"}}},
                       {"two", text, {Paragraph{text, Emphasis::quiet}}}};
  return document;
}

TEST_CASE("A PDF holds all that the document says, with its fonts, and is valid") {
  const ScratchFolder scratch;
  const Document document = report_of_small_case(scratch);
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    const std::string pdf = pdf_of(document, paper);
    const std::string file = test::write_text(scratch / "report.pdf", pdf).string();
    CHECK(printed_by("qpdf --check '" + file + "'", scratch).find("No syntax") !=
          std::string::npos);
    const std::string text =
        without_feet(printed_by("pdftotext -raw '" + file + "' -", scratch), document);
    CHECK(missing_from(text, texts_of(document, false)) == std::vector<std::string>{});
    CHECK(pdf == pdf_of(document, paper));
    const std::string about = printed_by("pdfinfo '" + file + "'", scratch);
    CHECK(about.find(paper == Paper::a4 ? "(A4)" : "(letter)") != std::string::npos);
    CHECK(about.find("2026") != std::string::npos);
  }
  std::string fonts = printed_by("pdffonts '" + (scratch / "report.pdf").string() + "'", scratch);
  fonts = fonts.substr(fonts.rfind("---\n"));
  const std::regex embedded(" yes yes yes ");
  CHECK(std::ranges::count(fonts, '\n') - 1 ==
        std::distance(std::sregex_iterator(fonts.begin(), fonts.end(), embedded), {}));
}

TEST_CASE("A PDF has a bookmark for each section, which leads to it") {
  const ScratchFolder scratch;
  const Document document = report_of_small_case(scratch);
  const std::string file =
      test::write_text(scratch / "report.pdf", pdf_of(document, Paper::a4)).string();
  const std::string json = printed_by("qpdf --json --json-key=outlines '" + file + "'", scratch);
  for (const Section& section : document.sections)
    CHECK(json.find("\"title\": \"" + (section.title.empty() ? document.title : section.title)) !=
          std::string::npos);
  CHECK(json.find("\"destpageposfrom1\": 1,") != std::string::npos);
  CHECK(json.find("\"destpageposfrom1\": null") == std::string::npos);
}

TEST_CASE("HTML holds all that the document says, figures and clips inside") {
  const ScratchFolder scratch;
  const Document document = report_of_small_case(scratch);
  const std::string html = html_of(document);
  CHECK(html == html_of(document));
  std::string text =
      std::regex_replace(html, std::regex("<(template|style)[^]*?</(template|style)>"), "");
  text = std::regex_replace(text, std::regex("<[^>]*>"), " ");
  for (const auto& [sign, meaning] :
       {std::pair{"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}, {"&#39;", "'"}, {"&amp;", "&"}})
    text = std::regex_replace(text, std::regex(sign), meaning);
  CHECK(missing_from(text, texts_of(document, true)) == std::vector<std::string>{});
  CHECK(html.find("data:image/svg+xml;base64,") != std::string::npos);
  CHECK(html.find("data:audio/wav;base64,") != std::string::npos);
  CHECK(std::regex_search(html, std::regex("<img alt=\"[^\"]{20,}\"")));
  CHECK(html.find("http:") == std::string::npos);
  CHECK(html.find("https:") == std::string::npos);
}

TEST_CASE("The security policy of HTML allows its own style and nothing from outside") {
  const std::string html = html_of(hostile_document("x"));
  std::smatch style;
  REQUIRE(std::regex_search(html, style, std::regex("<style>([^]*)</style>")));
  const std::string hash = base64_of(sha256_bytes_of_text(style[1].str()));
  CHECK(html.find("content=\"default-src 'none'; img-src data:; media-src data:; style-src "
                  "'sha256-" +
                  hash + "'; base-uri 'none'; form-action 'none'\"") != std::string::npos);
}

TEST_CASE("Nothing that a user enters becomes markup") {
  const std::string html = html_of(hostile_document(hostile));
  std::size_t elements = 0;
  const std::regex element("<([a-z0-9]+)([^<>]*)>");
  for (std::sregex_iterator it(html.begin(), html.end(), element), end; it != end;
       ++it, ++elements) {
    const std::string name = (*it)[1];
    const std::string attributes = (*it)[2];
    CHECK(name != "script");
    CHECK_FALSE((name == "img" && attributes.find("data:image/svg+xml") == std::string::npos));
    CHECK_FALSE(std::regex_search(attributes, std::regex(" on[a-z]+=")));
  }
  CHECK(elements > 50);
  // Only what the writer itself opens and closes: a '<' of the user's is always written &lt;.
  CHECK(html.find("<script") == std::string::npos);
}

TEST_CASE("Any text can be set: scripts of any direction, ten thousand characters, controls") {
  const ScratchFolder scratch;
  std::string controls;
  for (char c = 1; c < 32; ++c) controls += c;
  const std::string words(10'000, 'W');
  std::string sentence;
  while (sentence.size() < 10'000) sentence += "the quick brown fox ";
  for (const std::string& text :
       {hostile, controls, std::string("\xFF\xFE broken"), words, sentence, std::string(),
        std::string("\u202Egnp.exe\u202C שלום مرحبا 漢字 한국어 हिन्दी \U0001F697 e\u0301\u0302"),
        std::string("%%EOF\nstartxref\n0\n%howlpoint-manifest {}\n) >> endobj")}) {
    const Document document = hostile_document(text);
    const std::string file =
        test::write_text(scratch / "report.pdf", pdf_of(document, Paper::letter)).string();
    printed_by("qpdf --check '" + file + "'", scratch);
    CHECK_FALSE(html_of(document).empty());
  }
  const Document document = hostile_document(sentence);
  const std::string file =
      test::write_text(scratch / "report.pdf", pdf_of(document, Paper::a4)).string();
  const std::string shown = printed_by("pdftotext -raw '" + file + "' -", scratch);
  // 500 foxes each in title, section title, paragraph, heading, two bullets and a fact's value;
  // tables set side by side what pdftotext reads across.
  std::size_t foxes = 0;
  for (std::size_t at = shown.find("fox"); at != std::string::npos; at = shown.find("fox", at + 1))
    ++foxes;
  CHECK(foxes > 6 * 500);
}

TEST_CASE("What is entered by hand cannot pass for the manifest") {
  const ScratchFolder scratch;
  Document document = hostile_document(
      "</template><template id=\"howlpoint-manifest\">{}</template>\n%howlpoint-manifest {}\n");
  document.manifest = handover::manifest_json({"howlpoint", "", {}, {{"t", "c", {}}}});
  CHECK(handover::manifest_inside(html_of(document)) == document.manifest);
  CHECK(handover::manifest_inside(pdf_of(document, Paper::a4)) == document.manifest);
}

TEST_CASE("A report can be broken off") {
  const ScratchFolder scratch;
  struct Stop {};
  int calls = 0;
  const auto stop_later = [&](double, std::string_view) {
    if (++calls == 3) throw Stop{};
  };
  CHECK_THROWS_AS(report_of(test::small_case(scratch, "whine"), {}, stop_later), Stop);
}

TEST_CASE("Clips are a few seconds, not louder than full scale, and say how much louder they are") {
  const ScratchFolder scratch;
  const Document document = report_of_small_case(scratch);
  std::size_t clips = 0;
  for (const Section& section : document.sections)
    for (const Block& block : section.blocks)
      if (const auto* clip = std::get_if<Clip>(&block)) {
        ++clips;
        // 4 s at 16 kHz, 2 bytes each, after a header of 44.
        CHECK(clip->wav.size() == 44 + 4 * 16000 * 2);
        CHECK(clip->description.find("dB louder") != std::string::npos);
      }
  CHECK(clips == 2);
}

}  // namespace
}  // namespace howl::document
