#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "src/report/geometry.h"

struct _cairo;

namespace howl::document {

enum class Paper { a4, letter };
/// pt
picture::Size size_of(Paper paper);

/// What stands on each page, filled from top to bottom and drawn later, when all pages are known.
class Pages {
 public:
  /// `draw(context, y)`: with `y` the top of what was placed.
  using Draw = std::function<void(_cairo*, double)>;

  Pages(picture::Size paper, double margin, double foot);

  double left() const { return margin_; }
  double width() const { return paper_.width - 2 * margin_; }
  double top() const { return margin_; }
  /// Of an empty page.
  double whole() const { return paper_.height - margin_ - foot_ - margin_; }
  double room() const { return top() + whole() - y_; }
  std::size_t page() const { return pages_.size() - 1; }
  std::size_t count() const { return pages_.size(); }
  bool at_top() const { return y_ <= top(); }

  void next_page();
  /// Begins a new page unless that much fits, or nothing stands on this one.
  void need(double height);
  /// Leaves room, which a page does not begin with.
  void space(double height);
  /// Places it on this page, whether or not it fits.
  void add(double height, Draw draw);

  void draw(_cairo* context, std::size_t page) const;

 private:
  struct Placed {
    double y{};
    Draw draw;
  };
  picture::Size paper_;
  double margin_;
  double foot_;
  double y_;
  std::vector<std::vector<Placed>> pages_;
};

}  // namespace howl::document
