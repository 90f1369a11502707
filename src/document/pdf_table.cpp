#include "src/document/pdf_table.h"

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numeric>
#include <vector>

#include "src/document/laid_text.h"
#include "src/document/pdf_looks.h"

namespace howl::document {
namespace {

constexpr double cell_gap = 9.0;       ///< between columns
constexpr double row_padding = 2.0;    ///< above and below
constexpr double widest_word = 130.0;  ///< wider ones are broken
constexpr double code_width = 220.0;   ///< of a column of hashes: 64 characters
constexpr double tall_row = 200.0;     ///< a taller one may break below the headings
constexpr std::size_t rows_measured = 400;

struct CellLooks {
  TextLook heading{.size = table_size, .colour = picture::palette().quiet, .face = Face::bold};
  TextLook text{.size = table_size, .colour = picture::palette().ink};
  TextLook code{.size = 5.6, .colour = picture::palette().ink, .face = Face::code};
};

TextLook cell_look(const Column& column) {
  TextLook look = column.code ? CellLooks{}.code : CellLooks{}.text;
  look.right = column.align == Align::right;
  return look;
}

TextLook heading_cell_look(const Column& column) {
  TextLook look = CellLooks{}.heading;
  look.right = column.align == Align::right;
  return look;
}

/// What a column asks for: its longest word; then its cells in one line; then its heading, too.
struct ColumnWish {
  double word{};
  double cells{};
  double heading{};
};

ColumnWish wish_of(const Table& table, std::size_t c) {
  const Column& column = table.columns[c];
  const WantedWidth heading = wanted_width(column.heading, heading_cell_look(column));
  if (column.code) return {0.5 * code_width, code_width, code_width};
  ColumnWish wish{heading.word, heading.word, heading.line};
  for (std::size_t r = 0; r < std::min(table.rows.size(), rows_measured); ++r) {
    const WantedWidth cell = wanted_width(table.rows[r][c], cell_look(column));
    wish.word = std::max(wish.word, cell.word);
    wish.cells = std::max(wish.cells, cell.line);
  }
  return wish;
}

/// Hands `left` out to widths that are below their wish, in proportion to the root of what each
/// wants more, so that one long text does not starve the others. Returns what is left then.
double hand_out(std::vector<double>& widths, const std::vector<double>& wishes, double left) {
  for (int pass = 0; pass < 6 && left > 0.5; ++pass) {
    double shares = 0.0;
    for (std::size_t c = 0; c < widths.size(); ++c)
      shares += std::sqrt(std::max(0.0, wishes[c] - widths[c]));
    if (shares <= 0.0) break;
    const double before = left;
    for (std::size_t c = 0; c < widths.size(); ++c) {
      const double more = std::max(0.0, wishes[c] - widths[c]);
      const double gift = std::min(more, before * std::sqrt(more) / shares);
      widths[c] += gift;
      left -= gift;
    }
  }
  return left;
}

std::vector<double> column_widths(const Table& table, double whole) {
  constexpr double slack = 0.5;
  const std::size_t count = table.columns.size();
  const double room = whole - cell_gap * static_cast<double>(count - 1);
  const double widest = std::min(widest_word, 2 * room / static_cast<double>(count));
  std::vector<double> widths;
  std::vector<double> cells;
  std::vector<double> headings;
  for (std::size_t c = 0; c < count; ++c) {
    const ColumnWish wish = wish_of(table, c);
    widths.push_back(std::min(wish.word + slack, widest));
    cells.push_back(wish.cells + slack);
    headings.push_back(wish.heading + slack);
  }
  const double used = std::accumulate(widths.begin(), widths.end(), 0.0);
  if (used > room)
    for (double& width : widths) width *= room / used;
  else
    hand_out(widths, headings, hand_out(widths, cells, room - used));
  return widths;
}

using Row = std::vector<std::shared_ptr<LaidText>>;

Row laid_row(const Table& table, const std::vector<std::string>& cells,
             const std::vector<double>& widths) {
  Row row;
  for (std::size_t c = 0; c < table.columns.size(); ++c)
    row.push_back(std::make_shared<LaidText>(cells[c], widths[c], cell_look(table.columns[c])));
  return row;
}

Row laid_heading(const Table& table, const std::vector<double>& widths) {
  Row row;
  for (std::size_t c = 0; c < table.columns.size(); ++c)
    row.push_back(std::make_shared<LaidText>(table.columns[c].heading, widths[c],
                                             heading_cell_look(table.columns[c])));
  return row;
}

double height_of(const Row& row) {
  double height = 0.0;
  for (const auto& cell : row) height = std::max(height, cell->height());
  return height + 2 * row_padding;
}

class TableSetter {
 public:
  TableSetter(Pages& pages, const Table& table)
      : pages_(pages),
        table_(table),
        widths_(column_widths(table, pages.width())),
        heading_(laid_heading(table, widths_)) {
    double x = pages.left();
    for (const double width : widths_) {
      lefts_.push_back(x);
      x += width + cell_gap;
    }
  }

  void set() {
    const Row first = table_.rows.empty() ? Row{} : laid(table_.rows.front());
    repeats_heading_ = height_of(heading_) < 0.25 * pages_.whole();
    if (repeats_heading_) {
      pages_.need(height_of(heading_) + std::min(height_of(first), tall_row));
      set_whole(heading_);
    } else {
      set_in_pieces(heading_);
    }
    rule(0.8, picture::palette().rule);
    for (std::size_t r = 0; r < table_.rows.size(); ++r) set_row(laid(table_.rows[r]));
  }

 private:
  Row laid(const std::vector<std::string>& cells) const { return laid_row(table_, cells, widths_); }

  void turn_page() {
    pages_.next_page();
    if (!repeats_heading_) return;
    set_whole(heading_);
    rule(0.8, picture::palette().rule);
  }

  void set_row(const Row& row) {
    const double height = height_of(row);
    if (height > pages_.room() && height <= 0.7 * pages_.whole()) turn_page();
    if (height <= pages_.room())
      set_whole(row);
    else
      set_in_pieces(row);
    rule(0.4, picture::palette().grid);
  }

  void set_whole(const Row& row) {
    std::vector<std::size_t> all;
    for (const auto& cell : row) all.push_back(cell->lines());
    add_piece(row, std::vector<std::size_t>(row.size(), 0), all, height_of(row));
  }

  /// As many lines of every cell as fit, page after page.
  void set_in_pieces(const Row& row) {
    std::vector<std::size_t> next(row.size(), 0);
    const auto more_left = [&] {
      for (std::size_t c = 0; c < row.size(); ++c)
        if (next[c] < row[c]->lines()) return true;
      return false;
    };
    while (more_left()) {
      const double room = pages_.room() - 2 * row_padding;
      const std::vector<std::size_t> first = next;
      double height = 0.0;
      for (std::size_t c = 0; c < row.size(); ++c)
        height = std::max(height, fill(*row[c], next[c], room));
      if (first == next) {  // nothing fits any more
        turn_page();
        continue;
      }
      add_piece(row, first, next, height + 2 * row_padding);
    }
  }

  /// Moves `next` on by the lines that fit into `room`; returns their height.
  static double fill(const LaidText& cell, std::size_t& next, double room) {
    double height = 0.0;
    while (next < cell.lines() && height + cell.line_height(next) <= room)
      height += cell.line_height(next++);
    return height;
  }

  void add_piece(const Row& row, const std::vector<std::size_t>& first,
                 const std::vector<std::size_t>& end, double height) {
    pages_.add(height, [row, first, end, lefts = lefts_](cairo_t* context, double top) {
      for (std::size_t c = 0; c < row.size(); ++c) {
        double y = top + row_padding;
        for (std::size_t i = first[c]; i < end[c]; ++i) {
          row[c]->draw(context, i, lefts[c], y);
          y += row[c]->line_height(i);
        }
      }
    });
  }

  void rule(double width, picture::Colour colour) {
    const double left = pages_.left();
    const double right = left + pages_.width();
    pages_.add(0.0, [=](cairo_t* context, double y) {
      cairo_set_source_rgb(context, colour.red, colour.green, colour.blue);
      cairo_set_line_width(context, width);
      cairo_set_dash(context, nullptr, 0, 0);
      cairo_move_to(context, left, y);
      cairo_line_to(context, right, y);
      cairo_stroke(context);
    });
  }

  Pages& pages_;
  const Table& table_;
  std::vector<double> widths_;
  std::vector<double> lefts_;
  Row heading_;
  bool repeats_heading_{};
};

}  // namespace

void set_table(Pages& pages, const Table& table) {
  if (table.columns.empty()) return;
  TableSetter(pages, table).set();
}

double height_of_table(double width, const Table& table) {
  if (table.columns.empty()) return 0.0;
  const std::vector<double> widths = column_widths(table, width);
  double height = height_of(laid_heading(table, widths));
  for (const std::vector<std::string>& cells : table.rows)
    height += height_of(laid_row(table, cells, widths));
  return height;
}

double start_of_table(double width, const Table& table) {
  if (table.columns.empty()) return 0.0;
  const std::vector<double> widths = column_widths(table, width);
  const double heading = height_of(laid_heading(table, widths));
  if (table.rows.empty()) return heading;
  return heading + std::min(height_of(laid_row(table, table.rows.front(), widths)), tall_row);
}

}  // namespace howl::document
