#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numbers>
#include <vector>

#include "dsp/units.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/look/theme.h"
#include "ui/panels/sound_map.h"
#include "ui/pictures/level_pyramid.h"
#include "ui/pictures/sound_store.h"
#include "ui/pictures/take_sound.h"
#include "ui/pictures/tiles.h"
#include "ui/pictures/waveform.h"
#include "ui/state/shown_sound.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

Take take_of(const std::filesystem::path& folder, std::size_t index) {
  return load_case(folder).takes.at(index);
}

const Progress kQuiet = [](double, std::string_view) {};

}  // namespace

TEST_CASE("a waveform's parts hold the lowest and highest sample of their stretch") {
  std::vector<float> samples(1024, 0.0F);
  samples[300] = 0.5F;   // second stretch of 256
  samples[900] = -1.0F;  // fourth
  Waveform wave;
  wave.push(std::span(samples).first(700));  // chunks do not matter
  wave.push(std::span(samples).subspan(700));
  wave.finish();
  const auto parts = wave.parts(0, 1024, 4);
  CHECK(parts[0].high == 0);
  CHECK(parts[1].high == 16384);  // 0.5 · 32767, rounded
  CHECK(parts[3].low == -32767);
  const auto halves = wave.parts(0, 1024, 2);
  CHECK(halves[0].high == 16384);
  CHECK(halves[1].low == -32767);
}

TEST_CASE("parts outside the sound are empty") {
  Waveform wave;
  wave.push(std::vector<float>(1024, 0.25F));
  wave.finish();
  const auto parts = wave.parts(-1024, 2048, 3);
  CHECK(parts[0].low > parts[0].high);
  CHECK(parts[1].high == 8192);
  CHECK(parts[2].low > parts[2].high);
}

TEST_CASE("a byte holds a level within a quarter of a dB, and a little") {
  for (double db = -127.0; db <= 0.0; db += 0.37) {
    const double mean_square = 0.5 * std::pow(10.0, db / 10.0);  // dB re full-scale sine
    CHECK(std::abs(byte_level_db(level_byte(mean_square)) - db) < 0.26);
  }
  CHECK(level_byte(0) == 0);
  CHECK(level_byte(10) == 255);
}

TEST_CASE("levels of a pyramid are means of energy") {
  // Columns of 0 dB and silence: their mean is half the energy, 10 lg 0.5 = −3.01 dB.
  PyramidBuilder builder(2, 4, 100);
  for (int i = 0; i < 4; ++i) {
    const float power = i % 2 == 0 ? 0.5F : 0.0F;
    builder.push(std::vector<float>{power, 0.5F});
  }
  const LevelPyramid pyramid = builder.finish(2);
  REQUIRE(pyramid.levels.size() == 3);
  CHECK(pyramid.finest == 0);
  CHECK(pyramid.levels[0].at(0, 0) == 255);
  CHECK(pyramid.levels[0].at(1, 0) == 0);
  CHECK(byte_level_db(pyramid.levels[1].at(0, 0)) == doctest::Approx(-3.0));
  CHECK(byte_level_db(pyramid.levels[2].at(0, 0)) == doctest::Approx(-3.0));
  CHECK(pyramid.levels[2].at(0, 1) == 255);
  CHECK(pyramid.top_db == 0.0);
}

TEST_CASE("a long take keeps means of columns instead of all of them") {
  PyramidBuilder builder(1, 1000, 100);
  for (int i = 0; i < 1000; ++i) builder.push(std::vector<float>{0.5F});
  const LevelPyramid pyramid = builder.finish(1);
  CHECK(pyramid.finest == 4);  // 1000/16 = 62 ≤ 100 < 1000/8
  CHECK(pyramid.all_columns == 1000);
  CHECK(pyramid.levels.front().columns == 63);
  CHECK(std::ranges::all_of(pyramid.levels.front().level, [](auto b) { return b == 255; }));
}

TEST_CASE("a take's pictures show a known tone at its pitch and its level") {
  const bench::Workshop workshop;
  const Take take = take_of(workshop.folder, 0);  // 250 Hz, peak 0.2, at 1500 rpm
  const TakeSound sound =
      with_orders(read_take_sound(workshop.folder, take, std::nullopt, kQuiet), kQuiet);
  CHECK(sound.seconds == doctest::Approx(3.5));
  const LevelGrid& grid = sound.spectrogram.levels.front();
  const auto column = std::span(grid.level).subspan(grid.columns / 2 * grid.rows, grid.rows);
  const auto loudest = std::ranges::max_element(column) - column.begin();
  CHECK(static_cast<double>(loudest) * sound.spectrogram.row_step ==
        doctest::Approx(250.0).epsilon(0.01));
  // 20 lg 0.2 = −13.98 dB re full-scale sine; Hann between two lines loses up to 1.42 dB
  // (Harris 1978, table 1).
  CHECK(sound.spectrogram.top_db > -13.98 - 1.42 - 0.5);
  CHECK(sound.spectrogram.top_db < -13.98 + 0.5);
  REQUIRE(sound.orders);
  const LevelGrid& orders = sound.orders->levels.front();
  const auto middle =
      std::span(orders.level).subspan(orders.columns / 2 * orders.rows, orders.rows);
  const auto order = std::ranges::max_element(middle) - middle.begin();
  CHECK(static_cast<double>(order) * sound.orders->row_step == doctest::Approx(10.0).epsilon(0.01));
}

TEST_CASE("an order map is empty where a log does not say the speed") {
  const bench::Workshop workshop(bench::Extent::two_without_howl);
  const auto file =
      test::write_sound(workshop.scratch / "late.wav", bench::tone_in_noise(250, 0.2, 8.0, 1),
                        {.rate = bench::kRate});
  std::ofstream(workshop.scratch / "late.csv") << "time_s,rpm\n1.5,1500\n8,1500\n";
  NewTake request{.recording = file, .log = workshop.scratch / "late.csv", .take = {}};
  request.take.point = "transmission pan";
  request.take.speed = LoggedSpeed{};
  const Take take = add_take(workshop.folder, request).take;
  const TakeSound sound =
      with_orders(read_take_sound(workshop.folder, take, std::nullopt, kQuiet), kQuiet);
  REQUIRE(sound.orders);
  const LevelGrid& orders = sound.orders->levels.front();
  const auto loudest_at = [&](double seconds) {
    const auto column =
        static_cast<std::size_t>(seconds / 8.0 * static_cast<double>(orders.columns));
    return *std::ranges::max_element(
        std::span(orders.level).subspan(column * orders.rows, orders.rows));
  };
  CHECK(loudest_at(0.7) == 0);
  CHECK(loudest_at(4.0) > 0);
  // The cursor reads what is known there, and no order or speed that is not.
  CHECK(cursor_words(sound, 0.7, 250, false).starts_with("0.70 s · 250.0 Hz · speed not known"));
  CHECK(cursor_words(sound, 0.7, 10, true) == "0.70 s · speed not known");
  CHECK(cursor_words(sound, 4.0, 250, false)
            .starts_with("4.00 s · 250.0 Hz · order 10.00 · 1500 rpm · "));
  CHECK(cursor_words(sound, 4.0, 10, true)
            .starts_with("4.00 s · 250.0 Hz · order 10.00 · 1500 rpm · "));
  CHECK_FALSE(rpm_at(sound, 0.7));
}

TEST_CASE("columns computed anew from the recording are those that were held") {
  const bench::Workshop workshop;
  const TakeSound sound =
      read_take_sound(workshop.folder, take_of(workshop.folder, 1), std::nullopt, kQuiet);
  REQUIRE(sound.spectrogram.finest == 0);
  const LevelGrid& all = sound.spectrogram.levels[0];
  const LevelGrid again = fine_columns(sound, 0, 20, 30, kQuiet);
  REQUIRE(again.columns == 30);
  std::size_t different = 0;
  for (std::size_t c = 0; c < again.columns; ++c)
    for (std::size_t r = 0; r < again.rows; ++r)
      if (std::abs(again.at(c, r) - all.at(20 + c, r)) > 1) ++different;
  CHECK(different == 0);
  const LevelGrid end = fine_columns(sound, 0, all.columns - 3, 30, kQuiet);
  CHECK(end.columns == 3);
  // It can be broken off, as every job.
  struct Stopped {};
  CHECK_THROWS_AS(fine_columns(sound, 0, 20, 30, [](double, std::string_view) { throw Stopped{}; }),
                  Stopped);
  const LevelGrid halves = fine_columns(sound, 1, 10, 5, kQuiet);
  CHECK(std::abs(halves.at(2, 32) - sound.spectrogram.levels[1].at(12, 32)) <= 1);
}

TEST_CASE("a tile is loud where the tone is, and its rows keep the loudest line") {
  const bench::Workshop workshop;
  const TakeSound sound =
      read_take_sound(workshop.folder, take_of(workshop.folder, 0), std::nullopt, kQuiet);
  std::array<ImU32, 256> grey{};
  for (std::size_t i = 0; i < grey.size(); ++i) grey.at(i) = static_cast<ImU32>(i);
  for (const std::size_t halved : {0, 1}) {
    const TilePixels tile =
        paint_tile(sound, {sound.id, MapKind::spectrogram, 0, halved, 0, 0, true}, grey, kQuiet);
    REQUIRE(tile.width == 257);
    const double row = 250.0 / sound.spectrogram.row_step / std::exp2(halved);
    const auto y = static_cast<std::size_t>(256 - std::lround(std::floor(row)));
    std::uint32_t near = 0;
    for (std::size_t i = y - 1; i <= y + 1; ++i) near = std::max(near, tile.pixels[i * 257 + 20]);
    CHECK(near > 230);
    CHECK(tile.pixels[(y - 40) * 257 + 20] < 110);
  }
}

TEST_CASE("tiles are asked for once, and the cache forgets those drawn longest ago") {
  TileCache cache;
  bench::CountedTextures textures;
  const TileKey key{"t01", MapKind::spectrogram, 0, 0, 0, 0, true};
  CHECK(cache.find(key) == nullptr);
  CHECK(cache.find(key) == nullptr);
  CHECK(cache.take_wanted().size() == 1);
  CHECK(cache.find(key) == nullptr);
  CHECK(cache.take_wanted().empty());
  cache.arrived(key, {1, 1, {0}});
  cache.upload(textures, 1);
  CHECK(cache.find(key) != nullptr);
  for (std::size_t i = 1; i < 500; ++i) {
    TileKey other = key;
    other.column = i;
    cache.find(other);
    cache.take_wanted();
    cache.arrived(other, {1, 1, {0}});
    cache.find(key);  // drawn in every frame
    cache.upload(textures, 10);
  }
  CHECK(cache.find(key) != nullptr);
  CHECK(cache.size() < 400);
  CHECK(textures.made - textures.dropped == cache.size());
}

TEST_CASE("text stands out from its ground as WCAG 2.1 asks, in every theme") {
  // Relative luminance and contrast ratio as defined in WCAG 2.1; 4.5:1 for text (1.4.3), 3:1 for
  // graphics and large text (1.4.11).
  const auto luminance = [](ImU32 colour) {
    const auto channel = [&](unsigned shift) {
      const double v = static_cast<double>(colour >> shift & 0xFFU) / 255.0;
      return v <= 0.03928 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * channel(0) + 0.7152 * channel(8) + 0.0722 * channel(16);
  };
  const auto contrast = [&](ImU32 a, ImU32 b) {
    const double x = luminance(a) + 0.05;
    const double y = luminance(b) + 0.05;
    return std::max(x, y) / std::min(x, y);
  };
  for (const bool dark : {false, true})
    for (const bool strong : {false, true}) {
      const Theme theme = theme_of(dark, strong);
      CAPTURE(dark);
      CAPTURE(strong);
      for (const ImU32 ground : {theme.card, theme.ground, theme.lit, theme.raised}) {
        CHECK(contrast(theme.ink, ground) > 7);
        CHECK(contrast(theme.quiet, ground) > 4.5);
      }
      CHECK(contrast(theme.accent, theme.card) > 4.5);
      CHECK(contrast(theme.on_accent, theme.accent) > 4.5);
      CHECK(contrast(theme.warn, theme.card) > 4.5);
      for (const ImU32 colour : {theme.good, theme.bad}) CHECK(contrast(colour, theme.card) > 3);
    }
}

TEST_CASE("what is on its way for a case that is left is called off") {
  const bench::Workshop& workshop = bench::shared_workshop();
  const Case value = load_case(workshop.folder);
  Jobs jobs;
  SoundStore sounds;
  for (const Take& take : value.takes) sounds.want(jobs, workshop.folder, take, 4);
  sounds.forget_all(jobs);
  CHECK(jobs.running().size() <= 1);  // that one ends as soon as it looks
  jobs.finish_all();
  jobs.poll();
  CHECK(jobs.running().empty());
  for (const Take& take : value.takes) CHECK(sounds.find(take.id) == nullptr);
}
