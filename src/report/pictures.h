#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// Plain descriptions of the five pictures. They hold numbers and words only; where the numbers come
/// from is not their business, and the drawing knows nothing of cases or audio.

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

/// Levels in dB on a regular grid, column-major: level_db[column·rows + row], row 0 at y.low. NaN
/// where nothing is known.
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
  PlotAxis y;
  std::vector<SpectrumSeries> series;
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
    std::string label;  ///< "locked 0.97"
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
  std::vector<PitchSeries> series;
};

struct RankingBar {
  std::string point;
  double level_db{};
  std::optional<Interval> ci95_db;
  double probability_loudest{};
  std::string call;
  std::vector<std::string> warnings;
};
struct RankingPicture {
  std::string title;
  std::string subtitle;  ///< the suspect band, and how it was chosen
  std::string level_unit;
  std::vector<RankingBar> bars;  ///< loudest first
};

/// Draws to a file; the format follows the ending: .png, .svg or .pdf. Throws Error (command fault for
/// an unknown ending, machine fault where the file cannot be written); a failed write leaves no file.
void draw(const MapPicture& picture, const std::filesystem::path& file);
void draw(const SpectrumPicture& picture, const std::filesystem::path& file);
void draw(const PitchPicture& picture, const std::filesystem::path& file);
void draw(const RankingPicture& picture, const std::filesystem::path& file);

}  // namespace howl
