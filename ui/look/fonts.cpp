#include "ui/look/fonts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "embedded/typeface.h"

namespace howl::desk {
namespace {

/// Latin, Greek, the punctuation and signs of the trade: − ± … · ≤ ≈ → °.
constexpr std::array<ImWchar, 15> kGlyphs{0x0020, 0x017F, 0x0391, 0x03C9, 0x2009,
                                          0x2027, 0x202F, 0x2033, 0x2070, 0x2094,
                                          0x2190, 0x2193, 0x2200, 0x2265, 0};

constexpr std::array<ImWchar, 5> kPlainGlyphs{0x0020, 0x007E, 0x2026, 0x2026, 0};

ImFont* add_font(ImFontAtlas& atlas, std::string_view file, float pixels,
                 const ImWchar* glyphs = kGlyphs.data()) {
  const auto files = typeface();
  const auto found = std::find_if(files.begin(), files.end(),
                                  [&](const EmbeddedFile& each) { return each.name == file; });
  if (found == files.end()) return nullptr;
  ImFontConfig config;
  config.FontDataOwnedByAtlas = false;
  config.OversampleH = 2;
  config.OversampleV = 1;
  config.PixelSnapH = true;
  // The atlas only reads it, though its type does not say so.
  // NOLINTNEXTLINE(cppcoreguidelines-pro-type-const-cast)
  return atlas.AddFontFromMemoryTTF(const_cast<char*>(found->content.data()),
                                    static_cast<int>(found->content.size()), std::round(pixels),
                                    &config, glyphs);
}

}  // namespace

Fonts load_fonts(ImFontAtlas& atlas, float unit) {
  constexpr std::string_view plain = "Inter-Regular.otf";
  constexpr std::string_view heavy = "Inter-SemiBold.otf";
  atlas.Clear();
  atlas.Flags |= ImFontAtlasFlags_NoMouseCursors;
  Fonts fonts;
  fonts.body = add_font(atlas, plain, kBodySize * unit);
  fonts.note = add_font(atlas, plain, kNoteSize * unit);
  fonts.strong = add_font(atlas, heavy, kBodySize * unit);
  fonts.label = add_font(atlas, heavy, kNoteSize * unit);
  fonts.title = add_font(atlas, heavy, kTitleSize * unit);
  fonts.figure = add_font(atlas, heavy, kFigureSize * unit);
  fonts.huge = add_font(atlas, heavy, kHugeSize * unit, kPlainGlyphs.data());
  return fonts;
}

}  // namespace howl::desk
