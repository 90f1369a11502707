#pragma once

#include "src/document/laid_text.h"
#include "src/report/style.h"

namespace howl::document {

/// How the printed report is set; sizes in pt.
inline constexpr double body_size = 8.6;
inline constexpr double table_size = 7.4;
inline constexpr double small_size = 7.2;
inline constexpr double paragraph_gap = 5.0;

inline TextLook body_look() { return {.size = body_size, .colour = picture::palette().ink}; }
inline TextLook quiet_look() { return {.size = small_size, .colour = picture::palette().quiet}; }
inline TextLook strong_look() {
  return {.size = 10.2, .colour = picture::palette().ink, .face = Face::bold};
}
inline TextLook title_look() {
  return {.size = 17.0, .colour = picture::palette().ink, .face = Face::bold};
}
inline TextLook section_look() {
  return {.size = 13.0, .colour = picture::palette().ink, .face = Face::bold};
}
inline TextLook heading_look() {
  return {.size = 9.4, .colour = picture::palette().band, .face = Face::bold};
}
inline TextLook caption_look() {
  return {.size = 8.2, .colour = picture::palette().ink, .face = Face::bold};
}
inline TextLook label_look() { return {.size = body_size, .colour = picture::palette().quiet}; }

}  // namespace howl::document
