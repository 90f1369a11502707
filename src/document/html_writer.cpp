#include "src/document/html_writer.h"

#include <fmt/format.h>

#include <string_view>
#include <variant>
#include <vector>

#include "embedded/report_style.h"
#include "src/document/text.h"
#include "src/files/base64.h"
#include "src/files/sha256.h"
#include "src/handover/manifest.h"
#include "src/report/svg_text.h"

namespace howl::document {
namespace {

/// A number stays with its unit.
std::string with_held_units(std::string line) {
  const std::vector<UnitGap> gaps = unit_gaps(line);
  for (auto gap = gaps.rbegin(); gap != gaps.rend(); ++gap)  // the last first: places stay
    line.replace(gap->space, 1, "\u00A0");
  return line;
}

/// Text of anybody's, as text: nothing in it is markup.
std::string escaped(std::string_view text) {
  std::string html;
  for (const std::string& line : text_lines(text))
    html += (html.empty() ? "" : "<br>") + picture::xml_escaped(with_held_units(line));
  return html;
}

/// In one line, for an attribute or a title.
std::string escaped_line(std::string_view text) {
  std::string html;
  for (const std::string& line : text_lines(text))
    html += (html.empty() ? "" : " ") + picture::xml_escaped(line);
  return html;
}

std::string class_of(Emphasis emphasis) {
  switch (emphasis) {
    case Emphasis::quiet:
      return " class=\"quiet\"";
    case Emphasis::strong:
      return " class=\"strong\"";
    case Emphasis::warning:
      return " class=\"warning\"";
    case Emphasis::plain:
      break;
  }
  return {};
}

std::string cell_class(const Column& column) {
  if (column.code) return " class=\"code\"";
  return column.align == Align::right ? " class=\"right\"" : "";
}

std::string table_head(const Table& table) {
  std::string html = "<thead><tr>";
  for (const Column& column : table.columns)
    html += fmt::format("<th scope=\"col\" dir=\"auto\"{}>{}</th>",
                        column.align == Align::right ? " class=\"right\"" : "",
                        escaped(column.heading));
  return html + "</tr></thead>\n";
}

std::string table_html(const Table& table) {
  if (table.columns.empty()) return {};
  std::string html = fmt::format(
      "<div class=\"scroll\" tabindex=\"0\" role=\"region\" "
      "aria-label=\"{}\"><table>\n",
      table.caption.empty() ? "Table" : escaped_line(table.caption));
  if (!table.caption.empty())
    html += fmt::format("<caption>{}</caption>\n", escaped(table.caption));
  html += table_head(table) + "<tbody>\n";
  for (const auto& row : table.rows) {
    html += "<tr>";
    for (std::size_t c = 0; c < row.size(); ++c)
      html +=
          fmt::format("<td dir=\"auto\"{}>{}</td>", cell_class(table.columns[c]), escaped(row[c]));
    html += "</tr>\n";
  }
  html += "</tbody></table></div>\n";
  if (!table.note.empty()) html += fmt::format("<p class=\"quiet\">{}</p>\n", escaped(table.note));
  return html;
}

std::string list_html(const Bullets& block) {
  if (block.items.empty()) return {};
  std::string html = fmt::format("<ul{}>\n", class_of(block.emphasis));
  for (const std::string& item : block.items)
    html += fmt::format("<li dir=\"auto\">{}</li>\n", escaped(item));
  return html + "</ul>\n";
}

struct BlockHtml {
  std::string operator()(const Paragraph& block) const {
    return fmt::format("<p dir=\"auto\"{}>{}</p>\n", class_of(block.emphasis), escaped(block.text));
  }
  std::string operator()(const Heading& block) const {
    return fmt::format("<h3 dir=\"auto\">{}</h3>\n", escaped(block.text));
  }
  std::string operator()(const Bullets& block) const { return list_html(block); }
  std::string operator()(const Facts& block) const {
    std::string html = "<dl>\n";
    for (const auto& [label, value] : block.items)
      html += fmt::format("<dt>{}</dt><dd dir=\"auto\">{}</dd>\n", escaped(label), escaped(value));
    return html + "</dl>\n";
  }
  std::string operator()(const Table& block) const { return table_html(block); }
  std::string operator()(const Figure& block) const {
    std::string html = fmt::format(
        "<figure>\n<figcaption dir=\"auto\">{}</figcaption>\n<img alt=\"{}\" "
        "src=\"data:image/svg+xml;base64,{}\">\n",
        escaped(block.caption), escaped_line(block.alternative),
        base64_of(render(block.picture, PictureFormat::svg)));
    html += list_html({block.warnings, Emphasis::warning});
    if (!block.behind.rows.empty())
      html += "<details><summary>The figures of this picture</summary>\n" +
              table_html(block.behind) + "</details>\n";
    return html + "</figure>\n";
  }
  std::string operator()(const Clip& block) const {
    return fmt::format(
        "<figure>\n<figcaption>{}</figcaption>\n<audio controls preload=\"metadata\" "
        "aria-label=\"{}\" src=\"data:audio/wav;base64,{}\"></audio>\n<p class=\"quiet\">{}</p>\n"
        "</figure>\n",
        escaped(block.caption), escaped_line(block.caption), base64_of(block.wav),
        escaped(block.description));
  }
};

std::string contents_html(const Document& document) {
  std::string html = "<nav aria-label=\"Contents\"><h2>Contents</h2><ol>\n";
  for (const Section& section : document.sections)
    if (!section.title.empty())
      html += fmt::format("<li><a href=\"#{}\">{}</a></li>\n", section.id, escaped(section.title));
  return html + "</ol></nav>\n";
}

std::string section_html(const Section& section) {
  std::string html = fmt::format("<section id=\"{}\">\n", section.id);
  if (!section.title.empty()) html += fmt::format("<h2>{}</h2>\n", escaped(section.title));
  for (const Block& block : section.blocks) html += std::visit(BlockHtml{}, block);
  return html + "</section>\n";
}

/// Nothing is fetched, nothing is sent, no script runs, and no style but the file's own holds.
std::string security_policy(std::string_view style) {
  return fmt::format(
      "default-src 'none'; img-src data:; media-src data:; style-src 'sha256-{}'; "
      "base-uri 'none'; form-action 'none'",
      base64_of(sha256_bytes_of_text(style)));
}

std::string head_html(const Document& document, std::string_view style) {
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"generator\" content=\"{}\">\n<meta name=\"color-scheme\" content=\"light "
      "dark\">\n<title>{}</title>\n<style>{}</style>\n</head>\n",
      security_policy(style), picture::xml_escaped(document.program), escaped_line(document.title),
      style);
}

}  // namespace

std::string html_of(const Document& document) {
  const std::string_view style = report_style().front().content;
  std::string html = head_html(document, style);
  html += fmt::format("<body>\n{}\n<main>\n<h1 dir=\"auto\">{}</h1>\n",
                      handover::manifest_element(document.manifest), escaped(document.title));
  for (std::size_t i = 0; i < document.sections.size(); ++i) {
    html += section_html(document.sections[i]);
    if (i == 0) html += contents_html(document);
  }
  html += fmt::format("</main>\n<footer>{}</footer>\n</body>\n</html>\n",
                      picture::xml_escaped(document.program));
  return html;
}

}  // namespace howl::document
