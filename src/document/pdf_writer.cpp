#include "src/document/pdf_writer.h"

#include <cairo-pdf.h>
#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstring>
#include <map>
#include <memory>
#include <optional>
#include <utility>
#include <variant>
#include <vector>

#include "src/document/laid_text.h"
#include "src/document/pdf_looks.h"
#include "src/document/pdf_table.h"
#include "src/document/text.h"
#include "src/errors.h"
#include "src/handover/manifest.h"
#include "src/report/canvas_on.h"
#include "src/report/plots.h"
#include "src/report/words.h"

namespace howl::document {
namespace {

constexpr double page_margin = 44.0;
constexpr double foot_room = 16.0;
constexpr double bullet_indent = 11.0;
constexpr double label_width = 92.0;
constexpr double keep_with_next = 52.0;      ///< what has to follow a heading on its page
constexpr double least_shrinking = 0.78;     ///< of any other, to stay on its page
constexpr double least_figure_share = 0.68;  ///< of the width, for a figure that gives way

using SharedText = std::shared_ptr<LaidText>;

/// Sets blocks on pages. Knows nothing of what they are about.
class Setter {
 public:
  explicit Setter(Pages& pages) : pages_(pages) {}

  void set_text(std::string_view text, const TextLook& look, double indent = 0.0,
                const char* tag = "P") {
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

  void operator()(const Paragraph& block) {
    set_text(block.text, look_of(block.emphasis));
    pages_.space(paragraph_gap);
  }

  void operator()(const Heading& block) {
    pages_.space(4.0);
    pages_.need(keep_with_next);
    set_text(block.text, heading_look(), 0.0, "H2");
    pages_.space(2.0);
  }

  void operator()(const Bullets& block) {
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

  void operator()(const Facts& block) {
    for (const auto& [label, value] : block.items) set_fact(label, value);
    pages_.space(paragraph_gap);
  }

  void operator()(const Table& block) {
    if (!block.caption.empty()) {
      pages_.need(keep_with_next);
      set_text(block.caption, caption_look(), 0.0, "Caption");
      pages_.space(1.5);
    }
    set_table(pages_, block);
    pages_.space(2.5);
    if (!block.note.empty()) set_text(block.note, quiet_look());
    pages_.space(paragraph_gap + 3.0);
  }

  void operator()(const Figure& block) { set_figure(block, pages_.width()); }

  void set_figure(const Figure& block, double width) {
    const picture::Size size =
        std::visit([](const auto& it) { return picture::page_size(it); }, block.picture);
    const SharedText caption =
        std::make_shared<LaidText>(block.caption, pages_.width(), caption_look());
    const Bullets warnings{block.warnings, Emphasis::warning};
    const double around =
        caption->height() + 4.0 + std::min(height_alone(warnings), 0.4 * pages_.whole());
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
    if (!block.warnings.empty()) (*this)(warnings);
    pages_.space(paragraph_gap);
  }

  double height_alone(const Bullets& block) const {
    if (block.items.empty()) return 0.0;
    Pages endless({pages_.width() + 2 * pages_.left(), 1e6}, pages_.left(), 0.0);
    const double before = endless.room();
    Setter{endless}(block);
    return before - endless.room();
  }

  void operator()(const Clip& block) {
    set_text(block.caption, caption_look());
    set_text(block.description, quiet_look());
    pages_.space(paragraph_gap);
  }

 private:
  static TextLook look_of(Emphasis emphasis) {
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

  /// A text behind a mark on its first line.
  void set_mark(const char* mark, const TextLook& mark_look, std::string_view text,
                const TextLook& look) {
    const auto sign = std::make_shared<LaidText>(mark, bullet_indent, mark_look);
    pages_.need(sign->height());
    const double lift = 0.5 * (mark_look.size - look.size);
    pages_.add(0.0, [sign, lift, x = pages_.left() + 1.0](cairo_t* context, double y) {
      sign->draw(context, 0, x, y - lift);
    });
    set_text(text, look, bullet_indent, "LI");
  }

  void set_fact(std::string_view label, std::string_view value) {
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

  Pages& pages_;
};

// ---- the whole ---------------------------------------------------------------------------------

struct ReleaseCairo {
  void operator()(cairo_t* context) const { cairo_destroy(context); }
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};

cairo_status_t append_pdf(void* to, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

/// The first page, set on paper as much larger as it is drawn smaller.
class FrontPage {
 public:
  FrontPage(const Document& document, picture::Size paper, double scale)
      : scale_(scale),
        paper_{paper.width / scale, paper.height / scale},
        pages_(paper_, page_margin / scale, foot_room / scale) {
    Setter setter(pages_);
    const LaidText title(document.title, pages_.width(), title_look());
    setter.set_text(document.title, title_look(), 0.0, "H1");
    pages_.space(paragraph_gap);
    const Section& front = document.sections.front();
    const double width = yielding_width(front, title.height() + paragraph_gap);
    for (const Block& block : front.blocks) {
      const auto* figure = std::get_if<Figure>(&block);
      if (figure != nullptr && figure->gives_way)
        setter.set_figure(*figure, width);
      else
        std::visit(setter, block);
    }
  }

  std::size_t pages() const { return pages_.count(); }

  void draw(cairo_t* context, std::size_t page) const {
    cairo_save(context);
    cairo_scale(context, scale_, scale_);
    pages_.draw(context, page);
    cairo_restore(context);
  }

 private:
  /// How wide the figure of the section may be for the rest of it to stay on one page.
  double yielding_width(const Section& section, double title_height) const {
    Pages endless({paper_.width, 1e6}, page_margin / scale_, foot_room / scale_);
    Setter setter(endless);
    const double before = endless.room();
    double figure_height = 0.0;
    endless.add(1.0, {});  // so that room left at the top counts
    for (const Block& block : section.blocks) {
      const auto* figure = std::get_if<Figure>(&block);
      if (figure == nullptr || !figure->gives_way) {
        std::visit(setter, block);
        continue;
      }
      const picture::Size size =
          std::visit([](const auto& it) { return picture::page_size(it); }, figure->picture);
      figure_height = size.height / size.width;
      setter(Bullets{figure->warnings, Emphasis::warning});
      setter(Paragraph{figure->caption});
    }
    if (figure_height <= 0.0) return endless.width();
    const double left = pages_.whole() - title_height - (before - endless.room()) - 3.0;
    return std::clamp(left / figure_height, least_figure_share * endless.width(), endless.width());
  }

  double scale_;
  picture::Size paper_;
  Pages pages_;
};

/// In the largest type in which it is one page; in full size where no type makes it one.
std::unique_ptr<FrontPage> front_page(const Document& document, picture::Size paper) {
  for (const double scale : {1.0, 0.96, 0.92, 0.88, 0.84}) {
    auto page = std::make_unique<FrontPage>(document, paper, scale);
    if (page->pages() == 1) return page;
  }
  return std::make_unique<FrontPage>(document, paper, 1.0);
}

class PdfReport {
 public:
  PdfReport(const Document& document, Paper paper)
      : document_(document),
        paper_(size_of(paper)),
        pages_(paper_, page_margin, foot_room),
        setter_(pages_),
        front_(front_page(document, paper_)) {
    set_first_page();
    if (document.sections.size() > 1) {
      pages_.next_page();
      set_contents();
    }
    for (std::size_t i = 1; i < document.sections.size(); ++i) set_section(document.sections[i]);
  }

  std::string bytes() {
    std::string bytes;
    surface_.reset(
        cairo_pdf_surface_create_for_stream(append_pdf, &bytes, paper_.width, paper_.height));
    describe();
    const std::unique_ptr<cairo_t, ReleaseCairo> context(cairo_create(surface_.get()));
    for (std::size_t page = 0; page < pages_.count(); ++page) {
      pages_.draw(context.get(), page);
      draw_foot(context.get(), page);
      cairo_show_page(context.get());
    }
    add_bookmarks();
    cairo_status_t status = cairo_status(context.get());
    cairo_surface_finish(surface_.get());
    if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface_.get());
    if (status != CAIRO_STATUS_SUCCESS)
      throw Error(Fault::machine, "report", cairo_status_to_string(status),
                  "free some memory, then make it again");
    return handover::pdf_with_manifest(std::move(bytes), document_.manifest);
  }

 private:
  void set_first_page() {
    note_place(document_.sections.front());
    for (std::size_t page = 0; page < front_->pages(); ++page) {
      if (page > 0) pages_.next_page();
      pages_.add(0.0, [this, page](cairo_t* context, double) { front_->draw(context, page); });
    }
  }

  void set_contents() {
    setter_.set_text("Contents", section_look(), 0.0, "H1");
    pages_.space(paragraph_gap);
    for (std::size_t i = 1; i < document_.sections.size(); ++i) {
      const Section& section = document_.sections[i];
      const auto name = std::make_shared<LaidText>(section.title, pages_.width() - 40, body_look());
      pages_.add(name->line_height(0) + 1.5, [=, this, &section](cairo_t* context, double y) {
        const std::string link = fmt::format("dest='{}'", section.id);
        cairo_tag_begin(context, CAIRO_TAG_LINK, link.c_str());
        name->draw(context, 0, pages_.left(), y);
        TextLook right = body_look();
        right.right = true;
        LaidText(std::to_string(places_.at(section.id) + 1), pages_.width(), right)
            .draw(context, 0, pages_.left(), y);
        cairo_tag_end(context, CAIRO_TAG_LINK);
      });
    }
    pages_.space(14.0);
  }

  /// A mark that links and bookmarks lead to.
  void note_place(const Section& section) {
    places_[section.id] = pages_.page();
    pages_.add(0.0, [&section](cairo_t* context, double y) {
      const std::string name = fmt::format("name='{}' x=0 y={:.0f}", section.id, y);
      cairo_tag_begin(context, CAIRO_TAG_DEST, name.c_str());
      cairo_tag_end(context, CAIRO_TAG_DEST);
    });
  }

  void set_section(const Section& section) {
    pages_.space(10.0);
    pages_.need(section.own_page ? pages_.whole() : 110.0);
    note_place(section);
    setter_.set_text(section.title, section_look(), 0.0, "H1");
    pages_.space(paragraph_gap);
    for (const Block& block : section.blocks) std::visit(setter_, block);
  }

  void draw_foot(cairo_t* context, std::size_t page) const {
    const double y = paper_.height - page_margin - foot_room + 8.0;
    const double width = paper_.width - 2 * page_margin;
    TextLook look = quiet_look();
    const std::string number = fmt::format("page {} of {}", page + 1, pages_.count());
    const auto measure = [&](std::string_view text) { return wanted_width(text, look).line; };
    const std::string left = picture::elided(document_.title + " · " + document_.program,
                                             width - measure(number) - 20.0, measure);
    LaidText(left, width, look).draw(context, 0, page_margin, y);
    look.right = true;
    LaidText(number, width, look).draw(context, 0, page_margin, y);
  }

  void describe() {
    cairo_surface_t* surface = surface_.get();
    const auto say = [&](cairo_pdf_metadata_t what, const std::string& text) {
      cairo_pdf_surface_set_metadata(surface, what, picture::printable(text).c_str());
    };
    say(CAIRO_PDF_METADATA_TITLE, document_.title);
    say(CAIRO_PDF_METADATA_SUBJECT, document_.subject);
    if (!document_.author.empty()) say(CAIRO_PDF_METADATA_AUTHOR, document_.author);
    say(CAIRO_PDF_METADATA_CREATOR, document_.program);
    // The clock plays no part: the same case is the same file.
    say(CAIRO_PDF_METADATA_CREATE_DATE, document_.created);
  }

  void add_bookmarks() {
    for (const Section& section : document_.sections) {
      const std::string title =
          picture::printable(section.title.empty() ? document_.title : section.title);
      const std::string link = fmt::format("dest='{}'", section.id);
      cairo_pdf_surface_add_outline(surface_.get(), CAIRO_PDF_OUTLINE_ROOT, title.c_str(),
                                    link.c_str(), CAIRO_PDF_OUTLINE_FLAG_OPEN);
    }
  }

  const Document& document_;
  picture::Size paper_;
  Pages pages_;
  Setter setter_;
  std::unique_ptr<FrontPage> front_;
  std::map<std::string, std::size_t> places_;  ///< page of each section
  std::unique_ptr<cairo_surface_t, ReleaseCairo> surface_;
};

}  // namespace

std::string pdf_of(const Document& document, Paper paper) {
  return PdfReport(document, paper).bytes();
}

}  // namespace howl::document
