#include "src/report/pictures.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "dsp/statistics.h"
#include "src/errors.h"
#include "src/report/plots.h"
#include "src/report/svg_text.h"

using namespace howl;

namespace {

namespace fs = std::filesystem;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr float kNanf = std::numeric_limits<float>::quiet_NaN();
constexpr auto kFormats = {PictureFormat::png, PictureFormat::svg, PictureFormat::pdf};

class Folder {
 public:
  Folder() : path_(fs::temp_directory_path() / fmt::format("howl {}", std::random_device{}())) {
    fs::create_directory(path_);
  }
  ~Folder() { fs::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  fs::path operator/(const std::u8string& name) const { return path_ / name; }
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

std::string bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

MapPicture a_map() {
  MapPicture p;
  p.title = "Run-up";
  p.subtitle = "Take 4";
  p.x = {"Time", "s", 0, 30, false};
  p.y = {"Frequency", "Hz", 0, 2000, false};
  p.map = {60, 80, std::vector<float>(4800, -80)};
  for (std::size_t i = 0; i < 4800; i += 7) p.map.level_db[i] = -40;
  p.map.level_db[5] = kNanf;
  p.level_low_db = -90;
  p.level_high_db = -30;
  p.level_unit = "dB re full-scale sine";
  for (const double f : {100.0, 105.0, 500.0, 900.0}) {
    p.lines.push_back({fmt::format("order {}", f / 10), {{0, f / 2}, {30, f}}});
  }
  p.lines.push_back({"leaves at the top", {{0, 1000}, {20, 2600}}});
  p.marked_band = Interval{450, 520};
  p.speed_strip = {{0, 800}, {10, kNan}, {12, 900}, {30, 3000}};
  return p;
}

SpectrumPicture a_spectrum() {
  SpectrumPicture p;
  p.title = "Spectrum";
  p.x = {"Frequency", "Hz", 20, 2000, true};
  p.y = {"Level", "dB", -100, -20, false};
  for (int s = 0; s < 8; ++s) {
    SpectrumSeries series{fmt::format("A rather long name for probe point {}", s), {}};
    for (int k = 0; k < 500; ++k) {
      series.points.push_back({4.0 * k, -60 - 3 * s + 5 * std::sin(0.3 * k)});
    }
    p.series.push_back(series);
  }
  for (int i = 0; i < 20; ++i) {
    p.marks.push_back({fmt::format("order {:.1f}", 0.5 * i), {50.0 + 9 * i, -55.0 + i % 3}});
  }
  p.marked_band = Interval{100, 130};
  return p;
}

PitchPicture a_pitch(int tones) {
  PitchPicture p;
  p.title = "Pitch";
  p.rpm = {"Engine speed", "rpm", 600, 3200, false};
  p.frequency = {"Frequency", "Hz", 0, 800, false};
  for (int t = 0; t < tones; ++t) {
    PitchSeries s;
    s.label = fmt::format("tone {}: speed-locked, order {:.2f} (9.98 … 10.02)", t + 1, 10.0 + t);
    for (double n = 800; n <= 3000; n += 200) s.points.push_back({n, (10 + t) * n / 60, 3});
    const std::vector<PlotPoint> curve{{600, 100.0 + 10 * t}, {3200, 533.0 + 50 * t}};
    const std::vector<std::pair<const char*, double>> laws{
        {"locked", 0.60}, {"fixed", 0.20}, {"road", 0.10}, {"belt", 0.06}, {"free", 0.04}};
    for (const auto& [law, weight] : laws) {
      const std::string label = fmt::format("{} {:.2f}", law, weight);
      s.laws.push_back({law, label, weight, curve, curve, {{600, 90}, {3200, 500}}});
    }
    p.series.push_back(s);
  }
  return p;
}

RankingPicture a_ranking(std::size_t rows) {
  RankingPicture p;
  p.title = "Where the howl is loudest";
  p.level_unit = "dB re full-scale sine";
  for (std::size_t i = 0; i < rows; ++i) {
    const double level = -30 - 2.5 * static_cast<double>(i);
    RankingBar bar{fmt::format("Bracket number {} on the left side, rear", i),
                   level,
                   Interval{level - 1, level + 1.5},
                   i == 0 ? 0.97 : 0.001,
                   i == 0 ? "clear" : "no difference",
                   {}};
    if (i % 3 == 1) bar.warnings = {"clipped", "a long warning that goes on and on and on, and on"};
    p.bars.push_back(bar);
  }
  return p;
}

SketchPicture a_sketch(std::size_t spots) {
  SketchPicture p;
  p.title = "Where the howl is loud";
  p.subtitle = "In the suspect band";
  SketchView view{"Seen from below", "front at the top", 0.55, {}, {}};
  view.shapes = {{"body", {{0.1, 0}, {0.9, 0}, {0.9, 1}, {0.1, 1}}},
                 {"engine", {{0.3, 0.1}, {0.6, 0.1}, {0.6, 0.3}}}};
  for (std::size_t i = 0; i < spots; ++i) {
    const double along = static_cast<double>(i);
    view.spots.push_back({fmt::format("Bracket number {} on the left side, rear", i),
                          fmt::format("{:.1f} dB below, chance <1 %", along),
                          {0.3 + 0.01 * static_cast<double>(i % 7), 0.2 + 0.005 * along},
                          along});
  }
  view.spots.push_back({"not recorded", "", {0.5, 0.5}, std::nullopt});
  p.views = {view, view};
  p.notes = {"Without a place on the sketch: seat rail (9.1 dB below, chance <1 %)."};
  return p;
}

SuspectsPicture a_suspects(std::size_t rows) {
  SuspectsPicture p;
  p.title = "Suspects";
  p.subtitle = "Suspects for the howl (order 10.00)";
  p.contradictions = {"loudest at the pan, but the pitch follows the road"};
  for (std::size_t i = 0; i < rows; ++i) {
    SuspectBar bar{fmt::format("Pump number {} with a name that needs two lines or so", i),
                   i == 0 ? 0.9 : 0.01,
                   {}};
    for (int k = 0; k < 4; ++k)
      bar.evidence.push_back(
          {"the pitch follows the engine; this would keep one order of the "
           "engine, and more words than one line holds",
           12.0 - 7 * k});
    p.suspects.push_back(bar);
  }
  return p;
}

template <class Picture>
std::vector<picture::Box> texts_of(const Picture& p) {
  picture::Canvas canvas(PictureFormat::png, picture::page_size(p), p.title);
  picture::draw_on(canvas, p);
  return canvas.texts();
}

template <class Picture>
void check_words_apart(const Picture& p) {
  const auto texts = texts_of(p);
  const picture::Size size = picture::page_size(p);
  CHECK(texts.size() > 2);
  for (std::size_t i = 0; i < texts.size(); ++i) {
    CHECK(picture::Box{0, 0, size.width, size.height}.contains(texts[i]));
    for (std::size_t k = 0; k < i; ++k) {
      CAPTURE(i);
      CAPTURE(k);
      CHECK_FALSE(texts[i].overlaps(texts[k]));
    }
  }
}

std::uint32_t big_endian(const std::string& bytes, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    value = value << 8U | static_cast<unsigned char>(bytes.at(at + i));
  }
  return value;
}

template <class Picture>
void check_draws(const Picture& p) {
  for (const PictureFormat format : kFormats) CHECK(render(p, format).size() > 500);
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_CASE("a picture is the file that its ending says, 1600 by 1000 pixels as PNG") {
  const Folder folder;
  const fs::path png = folder / u8"Geräusch 騒音.PNG";
  draw(a_map(), png);
  const std::string bytes = bytes_of(png);
  CHECK(bytes.substr(0, 8) == "\x89PNG\r\n\x1a\n");
  CHECK(big_endian(bytes, 16) == 1600);  // IHDR, PNG (ISO/IEC 15948) 11.2.2
  CHECK(big_endian(bytes, 20) == 1000);

  draw(a_pitch(2), folder / u8"pitch.svg");
  const std::string svg = bytes_of(folder / u8"pitch.svg");
  CHECK(svg.starts_with("<?xml"));
  CHECK(svg.find("width=\"800px\" height=\"500px\" viewBox=\"0 0 800 500\"") != std::string::npos);

  draw(a_spectrum(), folder / u8"spectrum.pdf");
  const std::string pdf = bytes_of(folder / u8"spectrum.pdf");
  CHECK(pdf.starts_with("%PDF-1."));
  CHECK(pdf.find("/MediaBox [ 0 0 800 500 ]") != std::string::npos);
  CHECK(pdf.find("/FontFile") != std::string::npos);  // the font travels with the file

  CHECK(std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator()) == 3);
}

TEST_CASE("an unknown ending is the command's fault, and the three known ones are named") {
  const Folder folder;
  for (const char8_t* name : {u8"a.jpg", u8"a", u8".png", u8"a.png.txt"}) {
    try {
      draw(a_map(), folder / name);
      FAIL("no error");
    } catch (const Error& error) {
      CHECK(error.fault() == Fault::command);
      for (const char* ending : {".png", ".svg", ".pdf"}) {
        CHECK(error.remedy().find(ending) != std::string::npos);
      }
    }
  }
  CHECK(fs::is_empty(folder.path()));
}

TEST_CASE("where nothing can be written it is the machine's fault, and nothing is left behind") {
  const Folder folder;
  fs::create_directories((folder / u8"taken.png") / "inside");
  for (const fs::path& file : {folder / u8"no such folder/a.png", folder / u8"taken.png"}) {
    try {
      draw(a_map(), file);
      FAIL("no error");
    } catch (const Error& error) {
      CHECK(error.fault() == Fault::machine);
      CHECK(error.where() == file.string());
    }
  }
  CHECK(std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator()) == 1);
}

TEST_CASE("a new picture takes the place of an old one") {
  const Folder folder;
  draw(a_ranking(3), folder / u8"a.svg");
  draw(a_ranking(4), folder / u8"a.svg");
  CHECK(bytes_of(folder / u8"a.svg") == render(a_ranking(4), PictureFormat::svg));
}

TEST_CASE("the same picture is the same bytes, whatever was drawn in between") {
  for (const PictureFormat format : kFormats) {
    const std::string first = render(a_map(), format);
    render(a_spectrum(), format);
    render(a_map(), PictureFormat::svg);
    CHECK(render(a_map(), format) == first);
    CHECK(render(a_ranking(4), format) == render(a_ranking(4), format));
  }
  CHECK(render(a_map(), PictureFormat::pdf).find("CreationDate") == std::string::npos);
}

TEST_CASE("an SVG carries its title, escaped") {
  CHECK(picture::xml_escaped(R"(<&>"')") == "&lt;&amp;&gt;&quot;&#39;");
  RankingPicture p = a_ranking(2);
  p.title = "\"A\" <b> & 'c'\xFF\n";
  p.bars[0].point = "</svg>";
  const std::string svg = render(p, PictureFormat::svg);
  CHECK(count(svg, "<title>&quot;A&quot; &lt;b&gt; &amp; &#39;c&#39;\uFFFD </title>") == 1);
  CHECK(count(svg, "</svg>") == 1);
  CHECK(count(svg, "<b>") == 0);
}

TEST_CASE("every id of an SVG is there once, and what is used is there") {
  const std::string svg = render(a_map(), PictureFormat::svg);
  std::size_t uses = 0;
  for (const char* reference : {"xlink:href=\"#", "url(#"}) {
    for (std::size_t at = svg.find(reference); at != std::string::npos;
         at = svg.find(reference, at + 1)) {
      const std::size_t from = at + std::string(reference).size();
      const std::string id = svg.substr(from, svg.find_first_of("\")", from) - from);
      CAPTURE(id);
      CHECK(count(svg, "id=\"" + id + "\"") == 1);
      ++uses;
    }
  }
  CHECK(uses > 50);
}

TEST_CASE("no words overlap and none leave the page") {
  SUBCASE("map") { check_words_apart(a_map()); }
  SUBCASE("map without strip, lines or band") {
    MapPicture p = a_map();
    p.lines.clear();
    p.speed_strip.clear();
    p.marked_band.reset();
    check_words_apart(p);
  }
  SUBCASE("map with many lines") {
    MapPicture p = a_map();
    for (int i = 0; i < 60; ++i) {
      p.lines.push_back({fmt::format("line {} with a name that is much too long", i),
                         {{0, 10.0 * i}, {15.0 + i % 20, 20.0 * i}}});
    }
    check_words_apart(p);
  }
  SUBCASE("spectrum") { check_words_apart(a_spectrum()); }
  SUBCASE("spectrum with a band at its right end") {
    SpectrumPicture p = a_spectrum();
    p.marked_band = Interval{1900, 5000};
    check_words_apart(p);
  }
  SUBCASE("pitch") {
    for (const int tones : {1, 3, 6, 9}) check_words_apart(a_pitch(tones));
  }
  SUBCASE("ranking") {
    for (const std::size_t rows : {1U, 2U, 8U, 9U, 17U, 30U}) check_words_apart(a_ranking(rows));
  }
  SUBCASE("sketch") {
    for (const std::size_t spots : {1U, 2U, 9U, 25U, 60U}) check_words_apart(a_sketch(spots));
  }
  SUBCASE("suspects") {
    for (const std::size_t rows : {1U, 3U, 6U, 9U}) check_words_apart(a_suspects(rows));
  }
  SUBCASE("long title, long subtitle, long names") {
    std::string words;
    for (int i = 0; i < 60; ++i) words += "Überlänge und mehr ";
    RankingPicture ranking = a_ranking(5);
    ranking.title = ranking.subtitle = ranking.level_unit = words;
    ranking.bars[1].point = ranking.bars[1].call = words;
    ranking.bars[1].warnings = {words};
    check_words_apart(ranking);
    MapPicture map = a_map();
    map.title = map.subtitle = map.level_unit = map.y.name = map.x.name = words;
    check_words_apart(map);
    PitchPicture pitch = a_pitch(6);
    pitch.title = pitch.subtitle = words;
    for (PitchSeries& series : pitch.series) series.label = series.laws[0].label = words;
    check_words_apart(pitch);
    SpectrumPicture spectrum = a_spectrum();
    spectrum.title = spectrum.subtitle = spectrum.series[0].label = words;
    spectrum.marks[0].label = words;
    check_words_apart(spectrum);
    SketchPicture sketch = a_sketch(5);
    sketch.title = sketch.subtitle = sketch.views[0].title = sketch.views[0].subtitle = words;
    sketch.views[0].shapes[0].label = sketch.views[0].spots[1].words = words;
    sketch.views[0].spots[0].point = sketch.notes[0] = words;
    check_words_apart(sketch);
    SuspectsPicture suspects = a_suspects(3);
    suspects.title = suspects.subtitle = suspects.contradictions[0] = words;
    suspects.suspects[0].name = suspects.suspects[0].evidence[0].words = words;
    check_words_apart(suspects);
  }
}

TEST_CASE("a sketch names every recorded point of a view once, beside it") {
  SketchPicture p = a_sketch(4);
  p.views.pop_back();
  const std::size_t named = texts_of(p).size();
  p.views[0].spots[1].words.clear();  // name and level go
  CHECK(texts_of(p).size() == named - 2);
  CHECK(picture::page_size(a_sketch(40)).height > picture::page_size(a_sketch(10)).height);
  CHECK(picture::page_size(a_sketch(5000)).height < 4000);
}

TEST_CASE("a view without a spot is left out") {
  SketchPicture p = a_sketch(4);
  const double both = picture::page_size(p).height;
  p.views[1].spots.clear();
  CHECK(picture::page_size(p).height < both - 300);
}

TEST_CASE("suspects beyond the sixth are counted, not drawn") {
  const double six = picture::page_size(a_suspects(6)).height;
  CHECK(picture::page_size(a_suspects(2)).height < six);
  CHECK(std::abs(picture::page_size(a_suspects(500)).height - six) < 1);
}

TEST_CASE("a ranking grows with its rows, and says what it leaves out") {
  CHECK(picture::page_size(a_ranking(30)).height > picture::page_size(a_ranking(10)).height);
  CHECK(picture::page_size(a_ranking(5000)).height < 4000);
  check_draws(a_ranking(5000));
}

TEST_CASE("nothing to show is a picture too") {
  check_draws(MapPicture{});
  check_draws(SpectrumPicture{});
  check_draws(PitchPicture{});
  check_draws(RankingPicture{});
  check_draws(SketchPicture{});
  check_draws(SuspectsPicture{});
  check_words_apart(RankingPicture{.title = "t", .subtitle = "s", .level_unit = "", .bars = {}});
}

TEST_CASE("degenerate maps draw") {
  const auto with = [](auto change) {
    MapPicture p = a_map();
    change(p);
    check_draws(p);
  };
  with([](MapPicture& p) { p.map.level_db.pop_back(); });
  with([](MapPicture& p) { p.map = {1, 1, {-50}}; });
  with([](MapPicture& p) { std::ranges::fill(p.map.level_db, kNanf); });
  with([](MapPicture& p) {
    std::ranges::fill(p.map.level_db, -std::numeric_limits<float>::infinity());
  });
  with([](MapPicture& p) { p.level_low_db = p.level_high_db; });
  with([](MapPicture& p) { p.level_low_db = kNan; });
  with([](MapPicture& p) { p.y.logarithmic = true; });  // from 0 on
  with([](MapPicture& p) { p.x.high = p.x.low; });
  with([](MapPicture& p) { p.y.low = -1e308, p.y.high = 1e308; });
  with([](MapPicture& p) {
    p.lines = {{"one point", {{1, 1}}}, {"", {}}, {"far", {{-1e300, -1e300}, {1e300, 1e300}}}};
  });
  with([](MapPicture& p) { p.marked_band = Interval{kNan, kInfinity}; });
  with([](MapPicture& p) { p.marked_band = Interval{5000, 6000}; });
  with([](MapPicture& p) { p.speed_strip = {{kNan, kNan}}; });
  with([](MapPicture& p) { p.speed_strip = {{0, 0}, {30, 0}}; });
  with([](MapPicture& p) { p.speed_strip = {{0, -1e300}, {30, 1e300}}; });
  with([](MapPicture& p) { p.map = {0, std::numeric_limits<std::size_t>::max(), {}}; });
  with([](MapPicture& p) { p.map = {std::numeric_limits<std::size_t>::max() / 2 + 1, 2, {}}; });
}

TEST_CASE("degenerate spectra, pitches and rankings draw") {
  SpectrumPicture s = a_spectrum();
  s.series[0].points = {{kNan, 1}, {100, kInfinity}, {-5, 5}, {1e300, -1e300}};
  s.marks.push_back({"", {kNan, kNan}});
  s.marks.push_back({std::string(100000, 'x'), {100, -50}});
  s.marked_band = Interval{130, 100};
  check_draws(s);
  s.y = {"Level", "dB", -20, -20, false};
  check_draws(s);
  SpectrumPicture lone;
  lone.x = {"f", "Hz", 0, 1, false};
  lone.y = {"L", "dB", 0, 1, false};
  lone.series = {{"one", {{0.5, 0.5}}}};
  check_draws(lone);

  PitchPicture p = a_pitch(3);
  p.series[0].points = {{1000, 100, kNan}, {kNan, 1, 1}, {1000, 100, kInfinity}, {1000, 100, -1}};
  p.series[1].laws[0].weight = kNan;
  p.series[1].laws[1].weight = 50;
  p.series[1].laws[2].upper = {{kNan, kNan}};
  p.series[2] = {};
  check_draws(p);

  RankingPicture r = a_ranking(5);
  r.bars[0].level_db = kNan;
  r.bars[1].level_db = -kInfinity;
  r.bars[2].ci95_db = Interval{-kInfinity, kInfinity};
  r.bars[3].ci95_db = Interval{kNan, 1};
  r.bars[3].probability_loudest = kNan;
  r.bars[4].ci95_db.reset();
  check_draws(r);
  check_words_apart(r);
  for (RankingBar& bar : r.bars) bar = {"p", kNan, {}, kNan, "", {}};
  check_draws(r);
}

TEST_CASE("degenerate sketches and suspects draw") {
  SketchPicture s = a_sketch(4);
  s.views[0].aspect = kNan;
  s.views[0].shapes = {{"none", {}}, {"lost", {{kNan, 0}, {1, kInfinity}, {0, 0}}}};
  s.views[0].spots[0].at = {kNan, 0.5};
  s.views[0].spots[1].at = {-7, 1e300};
  s.views[0].spots[2].below_loudest_db = kNan;
  s.views[0].spots[3].below_loudest_db = -kInfinity;
  s.views[1].aspect = -1;
  check_draws(s);
  check_words_apart(s);

  SuspectsPicture p = a_suspects(3);
  p.suspects[0].probability = kNan;
  p.suspects[1].probability = 40;
  p.suspects[0].evidence[0].weight_db = kNan;
  p.suspects[0].evidence[1].weight_db = -kInfinity;
  p.suspects[1].evidence[0].weight_db = 1e9;
  check_draws(p);
  check_words_apart(p);
}
