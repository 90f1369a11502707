#include "src/document/pages.h"

#include <utility>

namespace howl::document {

picture::Size size_of(Paper paper) {
  // ISO 216: 210 × 297 mm; US Letter: 8.5 × 11 in; 72 pt an inch.
  constexpr double pt_per_mm = 72 / 25.4;
  if (paper == Paper::letter) return {612, 792};
  return {210 * pt_per_mm, 297 * pt_per_mm};
}

Pages::Pages(picture::Size paper, double margin, double foot)
    : paper_(paper), margin_(margin), foot_(foot), y_(margin), pages_(1) {}

void Pages::next_page() {
  pages_.emplace_back();
  y_ = top();
}

void Pages::need(double height) {
  if (height > room() && !at_top()) next_page();
}

void Pages::space(double height) {
  if (!at_top()) y_ += height;
}

void Pages::add(double height, Draw draw) {
  pages_.back().push_back({y_, std::move(draw)});
  y_ += height;
}

void Pages::draw(_cairo* context, std::size_t page) const {
  for (const Placed& placed : pages_[page]) placed.draw(context, placed.y);
}

}  // namespace howl::document
