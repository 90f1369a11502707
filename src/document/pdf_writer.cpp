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
#include "src/document/pdf_blocks.h"
#include "src/document/pdf_looks.h"
#include "src/document/text.h"
#include "src/errors.h"
#include "src/handover/manifest.h"
#include "src/report/plots.h"
#include "src/report/words.h"

namespace howl::document {
namespace {

constexpr double page_margin = 44.0;
constexpr double foot_room = 16.0;
constexpr double least_section = 110.0;      ///< of what a section begins with on its page
constexpr double least_figure_share = 0.68;  ///< of the width, for a figure that gives way

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
    BlockSetter setter(pages_);
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
    BlockSetter setter(endless);
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
    pages_.need(section.own_page ? pages_.whole() : beginning_of(section));
    note_place(section);
    setter_.set_text(section.title, section_look(), 0.0, "H1");
    pages_.space(paragraph_gap);
    setter_.set_blocks(section.blocks);
  }

  double beginning_of(const Section& section) const {
    const LaidText title(section.title, pages_.width(), section_look());
    return std::max(least_section,
                    title.height() + paragraph_gap + setter_.start_height(section.blocks));
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
  BlockSetter setter_;
  std::unique_ptr<FrontPage> front_;
  std::map<std::string, std::size_t> places_;  ///< page of each section
  std::unique_ptr<cairo_surface_t, ReleaseCairo> surface_;
};

}  // namespace

std::string pdf_of(const Document& document, Paper paper) {
  return PdfReport(document, paper).bytes();
}

}  // namespace howl::document
