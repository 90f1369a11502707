#include "src/document/pdf_blocks.h"

#include <cairo.h>

#include <algorithm>
#include <array>
#include <memory>
#include <variant>

#include "src/document/pdf_looks.h"
#include "src/document/pdf_table.h"
#include "src/report/canvas_on.h"
#include "src/report/plots.h"

namespace howl::document {
namespace {

constexpr double bullet_indent = 11.0;
constexpr double label_width = 92.0;
constexpr double keep_with_next = 52.0;   ///< of a text that follows a heading on its page
constexpr double least_shrinking = 0.78;  ///< of a figure, to stay on its page
constexpr double short_list = 0.25;       ///< of a page; a longer one under a heading may break
constexpr double small_table = 0.3;       ///< of a page; a larger one may break
constexpr std::size_t few_rows = 14;      ///< more are no small table, and are not measured

using SharedText = std::shared_ptr<LaidText>;

TextLook look_of(Emphasis emphasis) {
  switch (emphasis) {
    case Emphasis::quiet:
      return quiet_look();
    case Emphasis::strong:
      return strong_look();
    case Emphasis::plain:
    case Emphasis::warning:
      break;
  }
  return body_look();
}

bool stands_alone(const Block& block) {
  const auto* table = std::get_if<Table>(&block);
  return (table != nullptr && !table->caption.empty()) || std::holds_alternative<Heading>(block) ||
         std::holds_alternative<Figure>(block) || std::holds_alternative<Clip>(block);
}

/// A heading, the block below it, and others up to one that has a heading or caption of its own.
std::span<const Block> group_at(std::span<const Block> blocks) {
  std::size_t length = std::min<std::size_t>(2, blocks.size());
  while (length < blocks.size() && !stands_alone(blocks[length])) ++length;
  return blocks.first(length);
}

}  // namespace

void BlockSetter::set_blocks(std::span<const Block> blocks) {
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    if (std::holds_alternative<Heading>(blocks[i]))
      pages_.need(height_wanted(group_at(blocks.subspan(i))));
    std::visit(*this, blocks[i]);
  }
}

double BlockSetter::height_wanted(std::span<const Block> group) const {
  const bool has_list = group.size() > 1 && std::holds_alternative<Bullets>(group[1]);
  const double whole = height_alone(group);
  return whole <= (has_list ? short_list : 1.0) * pages_.whole() ? whole : start_height(group);
}

double BlockSetter::start_height(std::span<const Block> blocks) const {
  if (blocks.empty()) return 0.0;
  if (const auto* table = std::get_if<Table>(&blocks.front())) return height_wanted(*table);
  const double height = height_alone(blocks.first(1));
  if (std::holds_alternative<Heading>(blocks.front()))
    return height + start_height(blocks.subspan(1));
  if (std::holds_alternative<Figure>(blocks.front())) return least_shrinking * height;
  return std::min(height, keep_with_next);
}

void BlockSetter::set_text(std::string_view text, const TextLook& look, double indent,
                           const char* tag) {
  const auto laid = std::make_shared<LaidText>(text, pages_.width() - indent, look);
  const double x = pages_.left() + indent;
  for (std::size_t i = 0; i < laid->lines(); ++i) {
    pages_.need(laid->line_height(i));
    pages_.add(laid->line_height(i), [=](cairo_t* context, double y) {
      cairo_tag_begin(context, tag, nullptr);
      laid->draw(context, i, x, y);
      cairo_tag_end(context, tag);
    });
  }
}

void BlockSetter::operator()(const Paragraph& block) {
  set_text(block.text, look_of(block.emphasis));
  pages_.space(paragraph_gap);
}

void BlockSetter::operator()(const Heading& block) {
  pages_.space(4.0);
  set_text(block.text, heading_look(), 0.0, "H2");
  pages_.space(2.0);
}

void BlockSetter::operator()(const Bullets& block) {
  const bool warning = block.emphasis == Emphasis::warning;
  TextLook mark = body_look();
  if (warning) mark = {.size = body_size, .colour = picture::palette().band, .face = Face::bold};
  TextLook look = look_of(block.emphasis);
  for (const std::string& item : block.items) {
    set_mark(warning ? "!" : "•", mark, item, look);
    pages_.space(1.6);
  }
  pages_.space(paragraph_gap - 1.6);
}

void BlockSetter::operator()(const Facts& block) {
  for (const auto& [label, value] : block.items) set_fact(label, value);
  pages_.space(paragraph_gap);
}

double BlockSetter::caption_height(std::string_view caption) const {
  return caption.empty() ? 0.0 : LaidText(caption, pages_.width(), caption_look()).height() + 1.5;
}

double BlockSetter::height_wanted(const Table& block) const {
  const double caption = caption_height(block.caption);
  const double start = caption + start_of_table(pages_.width(), block);
  if (block.rows.size() > few_rows) return start;
  const double whole = caption + height_of_table(pages_.width(), block);
  return whole <= small_table * pages_.whole() ? whole : start;
}

void BlockSetter::operator()(const Table& block) {
  pages_.need(height_wanted(block));
  if (!block.caption.empty()) {
    set_text(block.caption, caption_look(), 0.0, "Caption");
    pages_.space(1.5);
  }
  set_table(pages_, block);
  pages_.space(2.5);
  if (!block.note.empty()) set_text(block.note, quiet_look());
  pages_.space(paragraph_gap + 3.0);
}

void BlockSetter::operator()(const Figure& block) { set_figure(block, pages_.width()); }

void BlockSetter::set_figure(const Figure& block, double width) {
  const picture::Size size =
      std::visit([](const auto& it) { return picture::page_size(it); }, block.picture);
  const SharedText caption =
      std::make_shared<LaidText>(block.caption, pages_.width(), caption_look());
  const std::array<Block, 1> warnings{Bullets{block.warnings, Emphasis::warning}};
  const double below = block.warnings.empty() ? 0.0 : height_alone(warnings);
  const double around = caption->height() + 4.0 + std::min(below, 0.4 * pages_.whole());
  const double wanted = std::min(width / size.width, (pages_.whole() - around) / size.height);
  const double fitting = (pages_.room() - around) / size.height;
  const double scale = fitting < wanted && fitting > least_shrinking * wanted ? fitting : wanted;
  pages_.need(around + scale * size.height);
  set_text(block.caption, caption_look(), 0.0, "Caption");
  const double x = pages_.left() + 0.5 * (pages_.width() - scale * size.width);
  pages_.add(scale * size.height, [&block, size, scale, x](cairo_t* context, double y) {
    cairo_tag_begin(context, "Figure", nullptr);
    cairo_save(context);
    cairo_translate(context, x, y);
    cairo_scale(context, scale, scale);
    picture::Canvas canvas = picture::canvas_on(context, size);
    std::visit([&](const auto& it) { picture::draw_on(canvas, it); }, block.picture);
    cairo_restore(context);
    cairo_tag_end(context, "Figure");
  });
  pages_.space(2.0);
  if (!block.warnings.empty()) std::visit(*this, warnings.front());
  pages_.space(paragraph_gap);
}

double BlockSetter::height_alone(std::span<const Block> blocks) const {
  Pages endless({pages_.width() + 2 * pages_.left(), 1e6}, pages_.left(), 0.0);
  endless.add(1.0, {});  // so that room left at the top counts
  const double before = endless.room();
  BlockSetter setter(endless);
  for (const Block& block : blocks) std::visit(setter, block);
  return before - endless.room();
}

void BlockSetter::operator()(const Clip& block) {
  set_text(block.caption, caption_look());
  set_text(block.description, quiet_look());
  pages_.space(paragraph_gap);
}

/// A text behind a mark on its first line.
void BlockSetter::set_mark(const char* mark, const TextLook& mark_look, std::string_view text,
                           const TextLook& look) {
  const auto sign = std::make_shared<LaidText>(mark, bullet_indent, mark_look);
  pages_.need(sign->height());
  const double lift = 0.5 * (mark_look.size - look.size);
  pages_.add(0.0, [sign, lift, x = pages_.left() + 1.0](cairo_t* context, double y) {
    sign->draw(context, 0, x, y - lift);
  });
  set_text(text, look, bullet_indent, "LI");
}

void BlockSetter::set_fact(std::string_view label, std::string_view value) {
  const auto name = std::make_shared<LaidText>(label, label_width - 6.0, label_look());
  pages_.need(name->line_height(0));
  const double height = name->height();
  pages_.add(0.0, [name, x = pages_.left()](cairo_t* context, double top) {
    double y = top;
    for (std::size_t i = 0; i < name->lines(); ++i) {
      name->draw(context, i, x, y);
      y += name->line_height(i);
    }
  });
  const std::size_t page = pages_.page();
  const double before = pages_.room();
  set_text(value, body_look(), label_width);
  const double used = before - pages_.room();
  if (page == pages_.page() && used < height) pages_.space(height - used);
  pages_.space(1.6);
}

}  // namespace howl::document
