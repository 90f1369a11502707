#include "dsp/spectrogram.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "dsp/spectrum.h"

namespace {

using howl::SpectrogramParameters;
using howl::SpectrogramStream;
using howl::WindowKind;

constexpr double rate = 8000.0;

std::vector<float> noise(std::size_t samples) {
  howl::Random random(5);
  std::vector<float> values(samples);
  for (float& value : values) value = static_cast<float>(howl::draw_normal(random));
  return values;
}

std::vector<float> sine(double amplitude, double frequency, std::size_t samples) {
  std::vector<float> values(samples);
  for (std::size_t n = 0; n < samples; ++n) {
    const double turns = frequency * static_cast<double>(n) / rate;
    values[n] = static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * turns));
  }
  return values;
}

std::size_t loudest(std::span<const float> powers) {
  return static_cast<std::size_t>(std::max_element(powers.begin(), powers.end()) - powers.begin());
}

TEST_CASE("a column's time is the centre of its block") {
  // A click at sample 4000 = 0.5 s; blocks of 400, hop 100.
  std::vector<float> click(8000);
  click[4000] = 1.0F;
  const auto grid = howl::spectrogram(click, rate, {WindowKind::hann, 400, 100});
  CHECK(grid.columns == 77);
  CHECK(grid.rows == 201);
  std::vector<float> of_time;
  for (std::size_t column = 0; column < grid.columns; ++column) {
    of_time.push_back(grid.column(column)[30]);
  }
  CHECK(grid.time(loudest(of_time)).value == doctest::Approx(0.5));
  CHECK(grid.time(0).value == doctest::Approx(200.0 / rate));
  CHECK(grid.frequency(30).value == doctest::Approx(600.0));
}

TEST_CASE("columns carry the scaling of a power spectrum") {
  const auto samples = sine(3.0, 600.0, 16000);
  const SpectrogramParameters parameters{WindowKind::hann, 400, 100};
  const auto grid = howl::spectrogram(samples, rate, parameters);
  for (std::size_t column = 0; column < grid.columns; ++column) {
    CHECK(grid.column(column)[30] == doctest::Approx(4.5).epsilon(1e-5));
  }
}

TEST_CASE("the mean of the columns is the averaged spectrum") {
  const auto samples = noise(20'000);
  const auto grid = howl::spectrogram(samples, rate, {WindowKind::hann, 512, 200});
  const auto spectrum = howl::welch_spectrum(samples, rate, {WindowKind::hann, 512, 200});
  for (std::size_t row = 0; row < grid.rows; ++row) {
    double sum = 0.0;
    for (std::size_t column = 0; column < grid.columns; ++column) {
      sum += static_cast<double>(grid.column(column)[row]);
    }
    CHECK(sum / static_cast<double>(grid.columns) == doctest::Approx(spectrum.power[row]));
  }
}

TEST_CASE("columns do not depend on the chunks, and come in order") {
  const auto samples = noise(30'000);
  const SpectrogramParameters parameters{WindowKind::hann, 512, 200};
  const auto whole = howl::spectrogram(samples, rate, parameters);
  for (const std::size_t chunk : {1U, 13U, 200U, 512U, 5000U}) {
    CAPTURE(chunk);
    SpectrogramStream stream(parameters);
    std::vector<float> power;
    const auto take = [&](std::size_t first, std::span<const float> columns) {
      CHECK(first * stream.lines() == power.size());
      power.insert(power.end(), columns.begin(), columns.end());
    };
    for (std::size_t at = 0; at < samples.size(); at += chunk) {
      stream.push(std::span(samples).subspan(at, std::min(chunk, samples.size() - at)), take);
      if (at == 10'400) stream.flush(take);  // and it goes on
    }
    stream.flush(take);
    CHECK(power == whole.power);
  }
}

TEST_CASE("a signal shorter than a block has no column") {
  const auto grid = howl::spectrogram(noise(511), rate, {WindowKind::hann, 512, 200});
  CHECK(grid.columns == 0);
  CHECK(grid.power.empty());
  const auto overview =
      howl::spectrogram_overview(noise(511), rate, {.spectrogram = {WindowKind::hann, 512, 200}});
  CHECK(overview.columns == 0);
}

TEST_CASE("an overview with room for everything is the spectrogram") {
  const auto samples = noise(20'000);
  const SpectrogramParameters parameters{WindowKind::hann, 512, 200};
  const auto grid = howl::spectrogram(samples, rate, parameters);
  const auto overview = howl::spectrogram_overview(
      samples, rate, {.spectrogram = parameters, .max_columns = 1000, .max_rows = 257});
  CHECK(overview.power == grid.power);
  CHECK(overview.time(5) == grid.time(5));
  CHECK(overview.frequency(5) == grid.frequency(5));
}

/// What a cell of an overview is by definition.
double cell(const howl::Spectrogram& grid, std::size_t first_column, std::size_t end_column,
            std::size_t first_line, std::size_t end_line) {
  double sum = 0.0;
  for (std::size_t column = first_column; column < end_column; ++column) {
    const auto lines = grid.column(column).subspan(first_line, end_line - first_line);
    sum += static_cast<double>(*std::max_element(lines.begin(), lines.end()));
  }
  return sum / static_cast<double>(end_column - first_column);
}

TEST_CASE("cells hold the mean over their blocks of their largest line") {
  const auto samples = noise(20'000);
  const SpectrogramParameters parameters{WindowKind::hann, 512, 200};
  const auto grid = howl::spectrogram(samples, rate, parameters);  // 98 columns, 257 lines
  for (const std::size_t max_columns : {1U, 2U, 7U, 40U, 49U, 97U}) {
    CAPTURE(max_columns);
    const auto overview = howl::spectrogram_overview(
        samples, rate, {.spectrogram = parameters, .max_columns = max_columns, .max_rows = 50});
    CHECK(overview.columns <= max_columns);
    CHECK(2 * overview.columns >= max_columns);
    CHECK(overview.rows == 43);  // ⌈257/50⌉ = 6 lines a row, ⌈257/6⌉ rows
    const auto blocks = static_cast<std::size_t>(std::lround(overview.time_step / grid.time_step));
    CHECK(overview.columns == (grid.columns + blocks - 1) / blocks);
    for (std::size_t column = 0; column < overview.columns; ++column) {
      for (std::size_t row = 0; row < overview.rows; ++row) {
        const double expected =
            cell(grid, column * blocks, std::min((column + 1) * blocks, grid.columns), row * 6,
                 std::min<std::size_t>((row + 1) * 6, 257));
        CHECK(overview.column(column)[row] == doctest::Approx(expected).epsilon(1e-5));
      }
    }
    // Centres: 2½ lines and (blocks − 1)/2 blocks after the first.
    CHECK(overview.frequency(0).value == doctest::Approx(2.5 * rate / 512.0));
    CHECK(overview.time(0).value ==
          doctest::Approx((256.0 + 100.0 * static_cast<double>(blocks - 1)) / rate));
  }
}

TEST_CASE("an overview keeps a tone's level and place within its band") {
  const auto overview = howl::spectrogram_overview(sine(1.0, 1000.0, 160'000), rate,
                                                   {.spectrogram = {WindowKind::hann, 1600, 400},
                                                    .max_columns = 50,
                                                    .max_rows = 20,
                                                    .band_hz = howl::Interval{500.0, 1500.0}});
  CHECK(overview.columns <= 50);
  CHECK(overview.rows <= 20);
  for (std::size_t column = 0; column < overview.columns; ++column) {
    const auto powers = overview.column(column);
    const std::size_t row = loudest(powers);
    CHECK(powers[row] == doctest::Approx(0.5).epsilon(1e-4));
    CHECK(std::abs(overview.frequency(row).value - 1000.0) <= 0.5 * overview.frequency_step.value);
  }
  CHECK(overview.frequency(0).value >= 500.0);
}

TEST_CASE("an overview does not depend on the chunks, and looking changes nothing") {
  const auto samples = noise(60'000);
  const howl::OverviewParameters parameters{
      .spectrogram = {WindowKind::hann, 256, 64}, .max_columns = 37, .max_rows = 30};
  const auto whole = howl::spectrogram_overview(samples, rate, parameters);
  howl::SpectrogramOverview overview(rate, parameters);
  for (std::size_t at = 0; at < samples.size(); at += 777) {
    overview.push(std::span(samples).subspan(at, std::min<std::size_t>(777, samples.size() - at)));
    (void)overview.result();
  }
  CHECK(overview.result().power == whole.power);
}

TEST_CASE("parameters that make no spectrogram are refused") {
  CHECK_THROWS_AS(SpectrogramStream({WindowKind::hann, 511, 100}), std::invalid_argument);
  CHECK_THROWS_AS(SpectrogramStream({WindowKind::hann, 512, 0}), std::invalid_argument);
  CHECK_THROWS_AS(SpectrogramStream({WindowKind::hann, 512, 513}), std::invalid_argument);
  CHECK_THROWS_AS(howl::spectrogram(noise(8), 0.0, {WindowKind::hann, 8, 4}),
                  std::invalid_argument);
  CHECK_THROWS_AS(howl::SpectrogramOverview(rate, {.max_columns = 0}), std::invalid_argument);
  CHECK_THROWS_AS(howl::SpectrogramOverview(rate, {.band_hz = howl::Interval{5000.0, 6000.0}}),
                  std::invalid_argument);
}

}  // namespace
