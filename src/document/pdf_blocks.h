#pragma once

#include <cstddef>
#include <span>
#include <string_view>

#include "src/document/document.h"
#include "src/document/laid_text.h"
#include "src/document/pages.h"

namespace howl::document {

/// Sets blocks on pages. Knows nothing of what they are about.
class BlockSetter {
 public:
  explicit BlockSetter(Pages& pages) : pages_(pages) {}

  /// In turn. What belongs under one heading stays on one page where it fits on one; else the
  /// heading stays with its beginning. A list under a heading is kept together only if it is short.
  void set_blocks(std::span<const Block> blocks);
  /// What of the first of them has to stand on the page of a heading above it.
  double start_height(std::span<const Block> blocks) const;

  void set_text(std::string_view text, const TextLook& look, double indent = 0.0,
                const char* tag = "P");
  void set_figure(const Figure& block, double width);

  void operator()(const Paragraph& block);
  void operator()(const Heading& block);
  void operator()(const Bullets& block);
  void operator()(const Facts& block);
  void operator()(const Table& block);
  void operator()(const Figure& block);
  void operator()(const Clip& block);

 private:
  double height_alone(std::span<const Block> blocks) const;
  double caption_height(std::string_view caption) const;
  double height_wanted(const Table& block) const;
  double height_wanted(std::span<const Block> group) const;
  void set_mark(const char* mark, const TextLook& mark_look, std::string_view text,
                const TextLook& look);
  void set_fact(std::string_view label, std::string_view value);

  Pages& pages_;
};

}  // namespace howl::document
