#include "src/analysis/isolate.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "dsp/statistics.h"
#include "dsp/synth.h"
#include "src/audio/recording.h"
#include "src/audio/sound_writer.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/report/envelope_csv.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

namespace {

constexpr double rate = 8000.0;

/// A case with one take of 10 s, 900 to 3000 rpm, with order 10 at 0.1, order 9.5 at 0.05 and
/// noise. Its second channel is something else.
struct Workshop {
  test::ScratchFolder scratch;
  std::filesystem::path folder = scratch / "case";
  Take take;
  std::vector<float> order10;

  explicit Workshop(SpeedSource speed = ramp()) {
    Case value;
    value.profile = "blank-four-stroke";
    value.points = {{.name = "idler bolt", .description = ""}};
    create_case(folder, value);
    const auto curve = SpeedCurve::through(std::get<EnteredRamp>(ramp()).points, 0.0);
    constexpr auto samples = static_cast<std::size_t>(10.0 * rate);
    Random random(6);
    order10 = synth_order(curve, Order(10.0), samples, rate, 0.1, 0.4);
    std::vector<float> sound = order10;
    synth_add(sound, synth_order(curve, Order(9.5), samples, rate, 0.05));
    synth_add(sound, synth_noise(samples, 0.002, random));
    const std::vector<float> other(samples, 0.25F);
    write_sound(scratch / "sound.wav", SoundFormat::wav_float, rate, other, sound);
    NewTake request;
    request.recording = scratch / "sound.wav";
    request.take.point = "idler bolt";
    request.take.channel = 2;
    request.take.speed = std::move(speed);
    take = add_take(folder, request).take;
  }

  static SpeedSource ramp() {
    return EnteredRamp{{{Seconds(0.0), Rpm(900.0)}, {Seconds(10.0), Rpm(3000.0)}}};
  }
};

IsolateRequest orders(std::vector<Order> wanted) {
  IsolateRequest request;
  request.orders = std::move(wanted);
  return request;
}

void silently(double /*fraction*/, std::string_view /*stage*/) {}

/// Both parts, whole.
struct Parts {
  std::vector<float> alone;
  std::vector<float> rest;
};

Parts run(const TakeIsolation& isolation) {
  Parts parts;
  isolation.run(
      [&](const IsolatedPiece& piece) {
        REQUIRE(piece.found.first_sample == static_cast<std::int64_t>(parts.alone.size()));
        REQUIRE(piece.take.size() == piece.found.samples());
        for (std::size_t i = 0; i < piece.take.size(); ++i) {
          float rest = piece.take[i];
          for (const FilteredTone& tone : piece.found.tones) rest -= tone.waveform[i];
          parts.alone.push_back(piece.found.tones[0].waveform[i]);
          parts.rest.push_back(rest);
        }
      },
      silently);
  return parts;
}

double rms_inside(const std::vector<float>& samples) {
  double squares = 0.0;
  const std::size_t edge = samples.size() / 10;
  for (std::size_t i = edge; i < samples.size() - edge; ++i)
    squares += static_cast<double>(samples[i]) * static_cast<double>(samples[i]);
  return std::sqrt(squares / static_cast<double>(samples.size() - 2 * edge));
}

Error refusal(const Workshop& workshop, const IsolateRequest& request) {
  try {
    const TakeIsolation isolation(workshop.folder, workshop.take, 4, request);
  } catch (const Error& error) {
    return error;
  }
  FAIL("was not refused");
  return {Fault::machine, "", "", ""};
}

}  // namespace

TEST_CASE("isolate: one order of a take alone, and what is left without both") {
  const Workshop workshop;
  const TakeIsolation isolation(workshop.folder, workshop.take, 4,
                                orders({Order(10.0), Order(9.5)}));
  CHECK(isolation.names() == std::vector<std::string>{"order 10", "order 9.5"});
  // An entered ramp is taken to be right within 1 %: four times that.
  CHECK(isolation.parameters().width.share == doctest::Approx(0.04));

  Parts parts = run(isolation);
  REQUIRE(parts.alone.size() == workshop.order10.size());
  synth_add(parts.alone, workshop.order10, -1.0);
  CHECK(rms_inside(parts.alone) < 0.001);
  CHECK(rms_inside(parts.rest) == doctest::Approx(0.002).epsilon(0.02));
}

TEST_CASE("isolate: the usual width covers what the speed may be wrong by") {
  // 2000 rpm entered, 0.5 %; the take itself runs otherwise, which does not matter here.
  const Workshop workshop(EnteredSpeed{Rpm(2000.0)});
  const TakeIsolation isolation(workshop.folder, workshop.take, 4, orders({Order(10.0)}));
  CHECK(isolation.parameters().width.share == doctest::Approx(0.02));
  CHECK(isolation.parameters().width.least.value == 2.0);
}

TEST_CASE("isolate: a tone of fixed pitch, and what cannot be done is refused with a remedy") {
  const Workshop workshop;
  IsolateRequest pitch;
  pitch.pitches = {Hertz(300.0)};
  const TakeIsolation isolation(workshop.folder, workshop.take, 4, pitch);
  CHECK(isolation.names() == std::vector<std::string>{"300 Hz"});
  CHECK(run(isolation).alone.size() == workshop.order10.size());

  const Error above = refusal(workshop, orders({Order(90.0)}));
  CHECK(above.fault() == Fault::command);
  CHECK(above.problem() ==
        "runs from 1350.0 to 4500.0 Hz in t01, and the recording holds nothing above 4000 Hz");

  IsolateRequest narrow = orders({Order(10.0)});
  narrow.width = FilterWidth{Hertz(0.1), 0.0};
  CHECK(refusal(workshop, narrow).problem() == "lasts 10.00 s; a filter 0.1 Hz wide needs 20.00 s");
  CHECK(refusal(workshop, orders({Order(10.0), Order(10.001)})).where() == "take t01");
}

TEST_CASE("isolate: a take with the engine off has pitches, but no orders and no speed") {
  const Workshop workshop(EngineOff{});
  CHECK(refusal(workshop, orders({Order(10.0)})).problem() ==
        "was recorded with the engine off and has no orders");
  IsolateRequest pitch;
  pitch.pitches = {Hertz(300.0)};
  const TakeIsolation isolation(workshop.folder, workshop.take, std::nullopt, pitch);
  CHECK(!isolation.speed_at(Seconds(1.0)));
  CHECK(isolation.parameters().width.share == doctest::Approx(0.02));
}

TEST_CASE("isolate: no order is taken out where the speed is not known, but a pitch is") {
  Workshop workshop;
  // The log says the speed from 1 to 9 s, but for a hole from 4 to 7 s.
  std::ofstream log(workshop.scratch / "holed.csv");
  log << "time_s,rpm\n";
  for (int i = 2; i <= 18; ++i)
    if (i <= 8 || i >= 14) log << 0.5 * i << ',' << 900.0 + 105.0 * i << '\n';
  log.close();
  NewTake request{.recording = workshop.scratch / "sound.wav",
                  .log = workshop.scratch / "holed.csv",
                  .take = {}};
  request.take.point = "idler bolt";
  request.take.channel = 2;
  request.take.speed = LoggedSpeed{};
  const Take take = add_take(workshop.folder, request).take;
  IsolateRequest both = orders({Order(10.0)});
  both.pitches = {Hertz(3200.0)};
  const TakeIsolation isolation(workshop.folder, take, 4, both);
  REQUIRE(!isolation.warnings().empty());
  CHECK(isolation.warnings().back() ==
        "no order is taken out of it from 0.0 to 1.0, 4.0 to 7.0 and 9.0 to 10.0 s, where its "
        "speed is not known: the order alone is silent there, and the rest is the take as it is");
  CHECK(!isolation.speed_at(Seconds(5.0)));
  CHECK(isolation.speed_at(Seconds(8.0)));
  CHECK(!isolation.frequency_at(0, Seconds(5.0)));
  CHECK(isolation.frequency_at(1, Seconds(5.0)));
  std::size_t at = 0;
  double strongest_unknown = 0.0;
  double strongest_pitch = 0.0;
  double weakest_known = 1.0;
  isolation.run(
      [&](const IsolatedPiece& piece) {
        for (std::size_t i = 0; i < piece.take.size(); ++i, ++at) {
          const double time = static_cast<double>(at) / rate;
          const double order = std::abs(piece.found.tones[0].envelope[i]);
          const double wave = std::abs(static_cast<double>(piece.found.tones[0].waveform[i]));
          if (time < 1.0 || (time > 4.0 && time < 7.0) || time > 9.0) {
            strongest_unknown = std::max({strongest_unknown, order, wave});
            strongest_pitch = std::max(strongest_pitch, std::abs(piece.found.tones[1].envelope[i]));
          } else if ((time > 2.0 && time < 3.0) || (time > 7.8 && time < 8.2)) {
            weakest_known = std::min(weakest_known, order);
          }
        }
      },
      silently);
  CHECK(strongest_unknown == 0.0);
  CHECK(strongest_pitch > 0.0);
  CHECK(weakest_known > 0.08);
}

TEST_CASE("envelope as CSV: says what it holds, a row every knot, true levels") {
  const Workshop workshop;
  const TakeIsolation isolation(workshop.folder, workshop.take, 4,
                                orders({Order(10.0), Order(9.5)}));
  const auto file = workshop.scratch / "envelope.csv";
  EnvelopeCsv csv(file, workshop.take, isolation);
  isolation.run([&](const IsolatedPiece& piece) { csv.add(piece.found); }, silently);
  csv.close();

  std::istringstream lines(test::content_of(file));
  std::string line;
  std::size_t comments = 0;
  while (std::getline(lines, line) && line.starts_with('#')) ++comments;
  CHECK(comments == 5);
  CHECK(line ==
        "time_s,rpm,order_10_frequency_hz,order_10_level_db,order_10_phase_deg,"
        "order_9.5_frequency_hz,order_9.5_level_db,order_9.5_phase_deg");
  std::size_t rows = 0;
  while (std::getline(lines, line)) {
    ++rows;
    std::ranges::replace(line, ',', ' ');
    std::istringstream cells(line);
    double time = 0.0;
    double rpm = 0.0;
    double hertz = 0.0;
    double level = 0.0;
    double phase = 0.0;
    cells >> time >> rpm >> hertz >> level >> phase;
    REQUIRE(cells.good());
    CHECK(hertz == doctest::Approx(10.0 * (900.0 + 210.0 * time) / 60.0).epsilon(1e-5));
    if (time < 1.0 || time > 9.0) continue;
    CHECK(level == doctest::Approx(-20.0).epsilon(0.02));
    // 0.1·sin(x + 0.4) is a cosine with 0.4 − π/2 rad = −67.1°.
    CHECK(phase == doctest::Approx(-67.1).epsilon(0.05));
  }
  const auto step = static_cast<std::size_t>(isolation.envelope_step());
  CHECK(rows > 300);
  CHECK(rows <= workshop.order10.size() / step + 1);
}
