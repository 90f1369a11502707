#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <regex>
#include <set>
#include <span>
#include <sstream>

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
std::string missing_from(std::string_view shown, const std::vector<std::string>& texts) {
  const std::string bare = without_blanks(shown);
  std::string missing;
  std::size_t at = 0;
  for (const std::string& text : texts) {
    std::string wanted;
    for (const std::string& line : text_lines(text)) wanted += without_blanks(line);
    const std::size_t found = bare.find(wanted, at);
    if (found == std::string::npos)
      missing += text + "\n";
    else
      at = found + wanted.size();
  }
  return missing;
}

/// A line breaks at a page's end, where the foot stands between its words.
std::string without_feet(const std::string& pdf_text, const Document& document) {
  const std::regex foot(".*" + document.program + " *page [0-9]+ of [0-9]+");
  std::istringstream lines(pdf_text);
  std::string rest;
  for (std::string line; std::getline(lines, line);)
    if (line.find(document.program) == std::string::npos || !std::regex_match(line, foot))
      rest += line + "\n";
  return rest;
}

/// `text` without what stands between `from` and `to`, and without these.
std::string without_parts(std::string_view text, std::string_view from, std::string_view to) {
  std::string rest;
  while (!text.empty()) {
    const std::size_t begin = std::min(text.find(from), text.size());
    rest += text.substr(0, begin);
    const std::size_t end = text.find(to, std::min(begin + from.size(), text.size()));
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + to.size());
  }
  return rest;
}

void replace_all(std::string& text, std::string_view from, std::string_view to) {
  for (std::size_t at = text.find(from); at != std::string::npos;
       at = text.find(from, at + to.size()))
    text.replace(at, from.size(), to);
}

/// The words of HTML, as a reader sees them.
std::string shown_text(std::string_view html) {
  std::string text = without_parts(html, "<style>", "</style>");
  text = without_parts(text, "<template", "</template>");
  text = without_parts(text, "<", ">");
  replace_all(text, "&lt;", "<");
  replace_all(text, "&gt;", ">");
  replace_all(text, "&quot;", "\"");
  replace_all(text, "&#39;", "'");
  replace_all(text, "&amp;", "&");
  replace_all(text, "\u00A0", " ");  // between a number and its unit
  return text;
}

/// Every element that begins in HTML: "img alt=…".
std::vector<std::string> elements_of(std::string_view html) {
  std::vector<std::string> elements;
  for (std::size_t at = html.find('<'); at != std::string_view::npos; at = html.find('<', at + 1))
    if (html[at + 1] != '/')
      elements.emplace_back(html.substr(at + 1, html.find('>', at) - at - 1));
  return elements;
}

/// Names of an element and its attributes, without their values.
std::vector<std::string> names_in(const std::string& element) {
  const std::string bare = without_parts(element, "\"", "\"");
  std::vector<std::string> names;
  for (std::size_t at = 0; at < bare.size();) {
    const std::size_t end = std::min(bare.find_first_of(" \n", at), bare.size());
    if (end > at) names.push_back(bare.substr(at, end - at));
    at = end + 1;
  }
  return names;
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
    CHECK(missing_from(text, texts_of(document, false)) == "");
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

/// A first page of so many lines beside its picture, and a second section.
Document document_with_front(std::size_t lines) {
  Document document{"A whine", "", "", "", "howlpoint 0.0.0", {}, {}};
  RankingPicture ranking;
  ranking.title = "Levels";
  ranking.bars = {{"pump", -20.0, Interval{-21.0, -19.0}, 0.9, "clear", {}}};
  const std::vector<std::string> items(lines, "one line of the first page");
  document.sections = {{"front", "", {Bullets{items}, Figure{"Levels", "", ranking, {}, {}, true}}},
                       {"rest", "The rest", {Paragraph{"the end"}}}};
  return document;
}

TEST_CASE("The first page stays one page where smaller type can make it so, and is whole if not") {
  const ScratchFolder scratch;
  const auto pages_of = [&](std::size_t lines) {
    const Document document = document_with_front(lines);
    const std::string file =
        test::write_text(scratch / "report.pdf", pdf_of(document, Paper::letter)).string();
    const std::string text = printed_by("pdftotext -raw '" + file + "' -", scratch);
    CHECK(missing_from(without_feet(text, document), texts_of(document, false)) == "");
    const std::string about = printed_by("pdfinfo '" + file + "'", scratch);
    return std::stoi(about.substr(about.find("Pages:") + 6));
  };
  // A line is some 12 pt, the page 690 pt, 0.84 of which hold a fifth more; the picture 200 pt.
  CHECK(pages_of(20) == 2);
  CHECK(pages_of(40) == 2);
  CHECK(pages_of(45) == 2);
  CHECK(pages_of(120) == 4);
}

/// A suspect as the report tells it, somewhere down a page.
Document document_with_suspects(std::size_t lines_before, std::size_t rows) {
  Document document = document_with_front(1);
  Section section{.id = "suspects", .title = "Suspects", .blocks = {}};
  for (std::size_t i = 0; i < lines_before; ++i)
    section.blocks.emplace_back(Paragraph{"a line before"});
  Table table;
  table.columns = {{"Weight", Align::right}, {"Evidence"}};
  for (std::size_t i = 0; i < rows; ++i)
    table.rows.push_back({std::to_string(i), fmt::format("row {} of the evidence", i)});
  section.blocks.emplace_back(Heading{"The suspect"});
  section.blocks.emplace_back(std::move(table));
  section.blocks.emplace_back(Paragraph{"The likeliest cause."});
  document.sections.push_back(std::move(section));
  return document;
}

/// The text of each page.
std::vector<std::string> printed_pages(const Document& document, const ScratchFolder& scratch) {
  const std::string file =
      test::write_text(scratch / "report.pdf", pdf_of(document, Paper::a4)).string();
  std::istringstream text(printed_by("pdftotext -layout '" + file + "' -", scratch));
  std::vector<std::string> pages;
  for (std::string page; std::getline(text, page, '\f');) pages.push_back(std::move(page));
  return pages;
}

TEST_CASE("A heading stays with all that belongs to it, or where that is too much, its beginning") {
  const ScratchFolder scratch;
  const auto page_with = [](const std::vector<std::string>& pages, const std::string& words) {
    return std::ranges::find_if(
               pages,
               [&](const std::string& page) { return page.find(words) != std::string::npos; }) -
           pages.begin();
  };
  std::set<std::ptrdiff_t> seen;
  for (std::size_t lines = 0; lines < 50; lines += 3) {
    CAPTURE(lines);
    const auto pages = printed_pages(document_with_suspects(lines, 12), scratch);
    const auto heading = page_with(pages, "The suspect");
    CHECK(page_with(pages, "row 0 of") == heading);
    CHECK(page_with(pages, "row 11 of") == heading);
    CHECK(page_with(pages, "The likeliest cause.") == heading);
    seen.insert(heading);
    const auto long_pages = printed_pages(document_with_suspects(lines, 90), scratch);
    const auto long_heading = page_with(long_pages, "The suspect");
    CHECK(page_with(long_pages, "row 0 of") == long_heading);
    const auto last = page_with(long_pages, "row 89 of");
    CHECK(last > long_heading);
    // The headings of the columns stand on each page of it.
    for (auto page = long_heading; page <= last; ++page)
      CHECK(long_pages[static_cast<std::size_t>(page)].find("Evidence") != std::string::npos);
  }
  CHECK(seen.size() > 1);  // it did not always have room below the lines before
}

TEST_CASE("HTML holds all that the document says, figures and clips inside") {
  const ScratchFolder scratch;
  const Document document = report_of_small_case(scratch);
  const std::string html = html_of(document);
  CHECK(html == html_of(document));
  const std::string text = shown_text(html);
  CHECK(missing_from(text, texts_of(document, true)) == "");
  CHECK(html.find("data:image/svg+xml;base64,") != std::string::npos);
  CHECK(html.find("data:audio/wav;base64,") != std::string::npos);
  for (const std::string& element : elements_of(html))
    if (element.starts_with("img ")) CHECK(element.find("\" src") - element.find("alt=\"") > 25);
  CHECK(html.find("http:") == std::string::npos);
  CHECK(html.find("https:") == std::string::npos);
}

TEST_CASE("The security policy of HTML allows its own style and nothing from outside") {
  const std::string html = html_of(hostile_document("x"));
  const std::size_t begin = html.find("<style>") + 7;
  const std::string style = html.substr(begin, html.find("</style>") - begin);
  const std::string hash = base64_of(sha256_bytes_of_text(style));
  CHECK(html.find("content=\"default-src 'none'; img-src data:; media-src data:; style-src "
                  "'sha256-" +
                  hash + "'; base-uri 'none'; form-action 'none'\"") != std::string::npos);
}

TEST_CASE("Nothing that a user enters becomes markup") {
  const std::string html = html_of(hostile_document(hostile));
  const std::vector<std::string> elements = elements_of(html);
  CHECK(elements.size() > 50);
  const std::set<std::string> elements_used{
      "!doctype", "html",    "head",    "meta",       "title", "style", "body", "template",
      "main",     "section", "nav",     "h1",         "h2",    "h3",    "p",    "ul",
      "ol",       "li",      "dl",      "dt",         "dd",    "div",   "br",   "table",
      "caption",  "thead",   "tbody",   "tr",         "th",    "td",    "a",    "figure",
      "img",      "details", "summary", "figcaption", "audio", "footer"};
  const std::set<std::string> attributes_used{
      "html",        "lang=",  "charset=", "http-equiv=", "content=", "name=",
      "id=",         "class=", "dir=",     "href=",       "scope=",   "tabindex=",
      "aria-label=", "role=",  "alt=",     "src=",        "controls", "preload="};
  for (const std::string& element : elements) {
    const std::vector<std::string> names = names_in(element);
    CHECK(elements_used.contains(names.front()));
    for (const std::string& name : std::span(names).subspan(1))
      CHECK(attributes_used.contains(name));
    if (names.front() == "img") CHECK(element.find("src=\"data:image/svg+xml;base64,") > 3);
    if (names.front() == "a") CHECK(element.starts_with("a href=\"#"));
  }
}

TEST_CASE("Any text can be set: scripts of any direction, ten thousand characters, controls") {
  const ScratchFolder scratch;
  std::string controls;
  for (char c = 1; c < 32; ++c) controls += c;
  const std::string long_word(500, 'W');
  std::string sentence;
  while (sentence.size() < 10'000) sentence += "the quick brown fox ";
  for (const std::string& text :
       {hostile, controls, std::string("\xFF\xFE broken"), long_word, sentence.substr(0, 2'000),
        std::string(),
        std::string("\u202Egnp.exe\u202C שלום مرحبا 漢字 한국어 हिन्दी \U0001F697 e\u0301\u0302"),
        std::string("%%EOF\nstartxref\n0\n%howlpoint-manifest {}\n) >> endobj")}) {
    const Document document = hostile_document(text);
    const std::string file =
        test::write_text(scratch / "report.pdf", pdf_of(document, Paper::letter)).string();
    printed_by("qpdf --check '" + file + "'", scratch);
    CHECK_FALSE(html_of(document).empty());
  }
  Document document{"t", "", "", "", "howlpoint 0.0.0", {}, {}};
  const std::string word(10'000, 'W');
  document.sections = {
      {"one",
       "",
       {Paragraph{sentence}, Paragraph{word}, Table{"", {{"a"}, {"b"}}, {{sentence, word}}, ""}}}};
  const std::string file =
      test::write_text(scratch / "report.pdf", pdf_of(document, Paper::a4)).string();
  const std::string shown = printed_by("pdftotext -raw '" + file + "' -", scratch);
  const auto count_of = [&](char c) { return std::ranges::count(shown, c); };
  // Twice 10 000 characters of 'the quick brown fox ', 20 each, with one x in it; the foot has
  // none.
  CHECK(count_of('x') == 1000);
  CHECK(count_of('W') == 20'000);
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
