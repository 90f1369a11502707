#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// Plain descriptions of the pictures. They hold numbers and words only; where the numbers
/// come from is not their business, and the drawing knows nothing of cases or audio.

struct PlotPoint {
  double x{};
  double y{};
};

/// Axis of a plot: "Frequency" + "Hz" reads "Frequency (Hz)".
struct PlotAxis {
  std::string name;
  std::string unit;
  double low{};
  double high{};
  bool logarithmic{};
};

/// Levels in dB on a regular grid, column-major: level_db[column·rows + row]. The first row lies at
/// y.low and the last at y.high, the first column at x.low and the last at x.high, evenly between
/// in the axis's unit, on a logarithmic axis too. NaN where nothing is known; −∞ is silence. Where
/// several values share a pixel, the loudest shows, so that a thin tone never gets lost.
struct Heatmap {
  std::size_t columns{};
  std::size_t rows{};
  std::vector<float> level_db;
};

/// A named line over a heatmap: an order, or a fixed frequency.
struct OverlayLine {
  std::string label;
  std::vector<PlotPoint> points;
};

/// Spectrogram or order map; the same drawing serves both.
struct MapPicture {
  std::string title;
  std::string subtitle;
  PlotAxis x;
  PlotAxis y;
  Heatmap map;
  double level_low_db{};  ///< bottom of the colour scale
  double level_high_db{};
  std::string level_unit;  ///< "dB re full-scale sine"
  std::vector<OverlayLine> lines;
  std::optional<Interval> marked_band;  ///< the suspect band on the y axis, if it is constant there
  /// Engine speed over the same x axis, drawn as a strip below; empty where x is the speed itself.
  std::vector<PlotPoint> speed_strip;
};

struct SpectrumSeries {
  std::string label;
  std::vector<PlotPoint> points;
};
struct SpectrumMark {
  std::string label;  ///< "order 10.0 · 333 Hz"
  PlotPoint at;
};
struct SpectrumPicture {
  std::string title;
  std::string subtitle;
  PlotAxis x;
  PlotAxis y;  ///< the drawing opens it upwards where the labels of marks need room
  std::vector<SpectrumSeries> series;  ///< most important first; six are shown
  std::vector<SpectrumMark> marks;
  std::optional<Interval> marked_band;
};

/// Pitch against engine speed, with what each law would predict.
struct PitchSeries {
  std::string label;  ///< "tone 1: speed-locked, order 10.00 (9.98 … 10.02)"
  struct Point {
    double rpm{};
    double frequency_hz{};
    double sigma_hz{};
  };
  std::vector<Point> points;
  struct Law {
    std::string law;    ///< "locked", "belt" …; picks how the line is dashed
    std::string label;  ///< "one order, 97 %"
    double weight{};    ///< 0 … 1; the heavier, the stronger the line
    std::vector<PlotPoint> curve;
    std::vector<PlotPoint> upper;  ///< 95 % band; may be empty
    std::vector<PlotPoint> lower;
  };
  std::vector<Law> laws;
};
struct PitchPicture {
  std::string title;
  std::string subtitle;
  PlotAxis rpm;
  PlotAxis frequency;
  std::vector<PitchSeries> series;  ///< most important first; six are shown
};

struct RankingBar {
  std::string point;
  double level_db{};
  std::optional<Interval> ci95_db;
  double probability_loudest{};
  std::string call;
  std::vector<std::string> warnings;
  bool upper_bound{};  ///< the level is at most level_db
};
struct RankingPicture {
  std::string title;
  std::string subtitle;  ///< the suspect band, and how it was chosen
  std::string level_unit;
  std::vector<RankingBar> bars;  ///< loudest first; a level that is not finite reads "unknown"
};

/// A shape of the vehicle and a probe point on it. Places are as drawn, 0 … 1 from left to right
/// and from top to bottom.
struct SketchShape {
  std::string label;
  std::vector<PlotPoint> corners;
};
struct SketchSpot {
  std::string point;
  std::string words;  ///< what is said of it, "6.2 dB below, chance <1 %"; unnamed if empty
  PlotPoint at;
  std::optional<double> below_loudest_db;  ///< ≥ 0; without it the spot is drawn hollow
};
struct SketchView {
  std::string title;     ///< "Seen from below"
  std::string subtitle;  ///< which way round it is
  double aspect{1};      ///< width over height of what spans 0 … 1 both ways, > 0
  std::vector<SketchShape> shapes;
  std::vector<SketchSpot> spots;  ///< most important first; 40 are shown
};
struct SketchPicture {
  std::string title;
  std::string subtitle;
  std::vector<SketchView> views;   ///< one below the other; those without spots are left out
  std::vector<std::string> notes;  ///< below, a paragraph each; six are shown
  /// Low, and without title and legend, for a page that says the same beside it.
  bool brief{};
};

/// A suspect with what speaks for it (weight above 0) and against it.
struct SuspectBar {
  struct Item {
    std::string words;
    double weight_db{};
  };
  std::string name;
  double probability{};
  std::vector<Item> evidence;  ///< drawn in this order
};
struct SuspectsPicture {
  std::string title;
  std::string subtitle;
  std::vector<std::string> contradictions;  ///< shown before all else
  std::vector<SuspectBar> suspects;         ///< likeliest first; six are shown
  std::string why_none;                     ///< what is said where there are none
};

using AnyPicture = std::variant<MapPicture, SpectrumPicture, PitchPicture, RankingPicture,
                                SketchPicture, SuspectsPicture>;

/// A picture is 800 × 500 units: as many SVG user units or PDF points, and two PNG pixels each.
/// Rankings, sketches and suspects are as tall as they need to be. Input that cannot be drawn (an
/// empty map, an axis without range, no finite value) gives a picture that says so and why. Points
/// that are not finite are left out. The same input gives the same bytes. Words in an SVG are
/// outlines, and its ids repeat from one picture to the next: put it on a page of several by <img>,
/// not inline.
enum class PictureFormat { png, svg, pdf };

/// The bytes of the file. Throws Error (machine fault) where memory does not suffice.
std::string render(const MapPicture& picture, PictureFormat format);
std::string render(const SpectrumPicture& picture, PictureFormat format);
std::string render(const PitchPicture& picture, PictureFormat format);
std::string render(const RankingPicture& picture, PictureFormat format);
std::string render(const SketchPicture& picture, PictureFormat format);
std::string render(const SuspectsPicture& picture, PictureFormat format);
/// `pixels_per_unit` counts for PNG only, > 0.
std::string render(const AnyPicture& picture, PictureFormat format, double pixels_per_unit = 2);

/// Draws to a file; the format follows the ending: .png, .svg or .pdf. Throws Error (command fault
/// for an unknown ending, machine fault where the file cannot be written); a failed write leaves no
/// file.
void draw(const MapPicture& picture, const std::filesystem::path& file);
void draw(const SpectrumPicture& picture, const std::filesystem::path& file);
void draw(const PitchPicture& picture, const std::filesystem::path& file);
void draw(const RankingPicture& picture, const std::filesystem::path& file);
void draw(const SketchPicture& picture, const std::filesystem::path& file);
void draw(const SuspectsPicture& picture, const std::filesystem::path& file);
void draw(const AnyPicture& picture, const std::filesystem::path& file);

}  // namespace howl
