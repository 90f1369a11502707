#pragma once

namespace howl::picture {

/// sRGB, each 0 … 1 (IEC 61966-2-1).
struct Colour {
  double red{};
  double green{};
  double blue{};
};

/// CIELAB under D65 (CIE 15).
struct Lab {
  double lightness{};  ///< 0 … 100
  double a{};
  double b{};
};

Lab to_lab(Colour colour);
/// The nearest sRGB colour, channel by channel; exact where in_gamut().
Colour to_srgb(Lab lab);
bool in_gamut(Lab lab);
/// From lightness, chroma and hue in degrees.
Lab lab_from_polar(double lightness, double chroma, double hue_degrees);

/// The scale of levels: ivory where it is quiet, through teal, to ink where it is loud, so that a
/// picture costs little ink and a tone stands out as it would drawn by pen. L* falls evenly with
/// `fraction`, which makes equal steps of level equal steps of grey in print; hue runs along blue
/// and yellow, which the common colour deficiencies keep. `fraction` is clamped to 0 … 1.
Lab level_lab(double fraction);
Colour level_colour(double fraction);

}  // namespace howl::picture
