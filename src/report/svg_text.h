#pragma once

#include <span>
#include <string>
#include <string_view>

namespace howl::picture {

/// `text` for use inside an XML element or attribute.
std::string xml_escaped(std::string_view text);

/// An SVG of Cairo's with its ids counted from the start of the file, because Cairo counts them
/// from the start of the process, and with `title` and all `words` that are drawn, for screen
/// readers and whoever searches: Cairo draws words as outlines.
std::string settled_svg(std::string_view svg, std::string_view title,
                        std::span<const std::string> words);

}  // namespace howl::picture
